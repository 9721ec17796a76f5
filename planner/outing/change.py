"""The same outing with one thing changed: more or less load, longer or shorter."""

from __future__ import annotations

from dataclasses import replace

from planner.outing.load_reader import END_S
from planner.outing.schema import Load, Outing, Use


def scale_outing(outing: Outing, factor: float) -> Outing:
    """The outing with every current, power and surge multiplied by a factor.

    factor : above 0. Inverters scale on the AC side and in their idle draw, so the battery's side scales
    alike; a resistance is divided; recorded currents, a motor's full current and table, and the current
    of the way home are multiplied. Times, speeds and voltages stay.
    """
    home = outing.get_home
    return replace(
        outing,
        loads=tuple(_scaled(load, factor) for load in outing.loads),
        get_home=None if home is None else replace(home, current_a=home.current_a * factor),
    )


def scale_inverters(outing: Outing, factor: float) -> Outing:
    """The outing with the AC power and the surges of its inverters times a factor; their idle draw stays."""

    def scaled(load: Load) -> Load:
        if load.kind != "inverter" or load.power_w is None:
            return load
        surge = load.surge
        more = None if surge is None else replace(surge, current_a=surge.current_a * factor)
        return replace(load, power_w=load.power_w * factor, surge=more)

    return replace(outing, loads=tuple(scaled(load) for load in outing.loads))


def _scaled(load: Load, factor: float) -> Load:
    def times(value: float | None) -> float | None:
        return None if value is None else value * factor

    log, surge = load.log, load.surge
    return replace(
        load,
        current_a=times(load.current_a),
        power_w=times(load.power_w),
        resistance_ohm=None if load.resistance_ohm is None else load.resistance_ohm / factor,
        idle_w=load.idle_w * factor,
        losses=None if load.losses is None else load.losses.times(factor),
        full_current_a=times(load.full_current_a),
        motor_table=tuple((speed, current * factor) for speed, current in load.motor_table),
        surge=None if surge is None else replace(surge, current_a=surge.current_a * factor),
        log=None if log is None else replace(log, current_a=tuple(a * factor for a in log.current_a)),
    )


def stretch_outing(outing: Outing, duration_s: float) -> Outing:
    """The outing with another length.

    duration_s : the new length, above 0 [s]. A use that reached the old end reaches the new one; a use
    wholly beyond the new end is dropped, one that crosses it is cut. A load may be left without uses.
    """
    return replace(
        outing,
        duration_s=duration_s,
        loads=tuple(
            replace(load, uses=tuple(_fitted(load.uses, outing.duration_s, duration_s)))
            for load in outing.loads
        ),
    )


def _fitted(uses: tuple[Use, ...], old_s: float, new_s: float) -> list[Use]:
    fitted = []
    for use in uses:
        left_s = new_s - use.start_s
        reached_end = use.start_s + use.length_s >= old_s - END_S
        if left_s > END_S:
            fitted.append(replace(use, length_s=left_s if reached_end else min(use.length_s, left_s)))
    return fitted


def at_speed(outing: Outing, speed: float) -> Outing:
    """The outing with every use of every motor at one speed, a fraction of full speed; uses at rest stay at rest."""

    def moved(load: Load) -> Load:
        if load.kind != "motor":
            return load
        return replace(load, uses=tuple(replace(use, speed=speed) if use.speed else use for use in load.uses))

    return replace(outing, loads=tuple(moved(load) for load in outing.loads))
