"""The keys of a load behind an inverter, checked."""

from __future__ import annotations

from dataclasses import replace

from planner.outing.inverter_losses import (
    CEC_WEIGHTS,
    EUROPEAN_WEIGHTS,
    LossModel,
    loss_model_from_efficiencies,
    weighted_efficiency,
)
from planner.outing.schema import Load
from planner.toml_table import Table

MAX_AC_W = 100_000.0
MAX_DC_V = 100.0
LEAST_EFFICIENCY = 0.05


def with_inverter(load: Table, found: Load) -> Load:
    """The load with its power, losses, cut-out, ratings and input capacitors; problems are noted in the table."""
    power_w = load.quantity("power", "power", low=0.0, high=MAX_AC_W, required=True)
    rated_w = load.quantity("rated_power", "power", above=0.0, high=MAX_AC_W)
    efficiency = load.quantity("efficiency", "fraction", low=LEAST_EFFICIENCY, high=1.0)
    losses = _losses(load, rated_w)
    if load.has("efficiency") == load.has("efficiency_points"):
        value = "beside efficiency_points" if load.has("efficiency") else "absent"
        fix = 'Write efficiency = "88 %", or efficiency_points = [["100 W", "84 %"], ["900 W", "90 %"]].'
        load.problem("efficiency", value, "one of efficiency and efficiency_points", fix)
    idle_w = load.quantity("idle_power", "power", low=0.0, high=MAX_AC_W)
    from_curve_w = 0.0 if losses is None else max(losses.idle_w, 0.0)
    found = replace(
        found,
        power_w=power_w,
        efficiency=efficiency,
        losses=losses,
        idle_w=from_curve_w if idle_w is None else idle_w,
        capacitance_f=load.quantity("input_capacitance", "capacitance", above=0.0, high=10.0),
        precharge_ohm=load.quantity("precharge_resistance", "resistance", above=0.0, high=1e4),
    )
    if found.precharge_ohm is not None and not load.has("input_capacitance"):
        load.problem(
            "precharge_resistance", "without input_capacitance", "together with it", "Add input_capacitance."
        )
    _check_ratings(load, found, rated_w)
    return _with_cutout(load, found)


def _losses(load: Table, rated_w: float | None) -> LossModel | None:
    """The loss model of stated efficiencies; None where there are none, or they are refused."""
    points = load.pairs(
        "efficiency_points", ("power", "fraction"), limits=((0.0, MAX_AC_W), (LEAST_EFFICIENCY, 1.0))
    )
    if not load.has("efficiency_points"):
        return None
    powers = [power for power, _ in points]
    if len(set(powers)) < 2 or len(set(powers)) < len(powers) or min(powers) <= 0.0:
        fix = "Two powers give idle and proportional loss, three or more the resistive part as well."
        load.problem(
            "efficiency_points", f"{len(points)} rows", "two or more rows, each at its own power above 0", fix
        )
        return None
    model = loss_model_from_efficiencies([(row[0], row[1]) for row in points])
    if model.idle_w < 0.0 or any(model.dc_power_w(power) < power for power in powers):
        fix = "Check the readings: an inverter's loss at no load is not below 0, and it gives out less than it takes."
        load.problem("efficiency_points", f"an idle loss of {model.idle_w:.1f} W", "0 W or more", fix)
        return None
    if rated_w is not None:
        european, cec = (weighted_efficiency(model, rated_w, w) for w in (EUROPEAN_WEIGHTS, CEC_WEIGHTS))
        load.warn(
            f"efficiency by its curve, idle loss {model.idle_w:.1f} W; weighted as for solar use "
            f"{100.0 * european:.1f} % (European) and {100.0 * cec:.1f} % (CEC). A battery's inverter idles far more "
            "than these weights say"
        )
    return model


def _check_ratings(load: Table, found: Load, rated_w: float | None) -> None:
    """More than the rated power is a surge: it has a power and seconds, and no use may last longer."""
    surge_w = load.quantity("surge_power", "power", above=0.0, high=MAX_AC_W)
    surge_s = load.quantity("surge_time", "duration", above=0.0, high=3600.0)
    for key, other in (
        ("surge_power", "surge_time"),
        ("surge_time", "surge_power"),
        ("surge_power", "rated_power"),
    ):
        if load.has(key) and not load.has(other):
            fix = f"Add {other}: surge watts hold for seconds only, and are no rating for good."
            load.problem(key, f"without {other}", f"together with {other}", fix)
    asked = found.power_w
    if rated_w is None or asked is None or not asked > rated_w:
        return
    longest = max((min(use.on_s or use.length_s, use.length_s) for use in found.uses), default=0.0)
    if surge_w is None or surge_s is None:
        fix = "Take a larger inverter or less load; if it is a surge, give surge_power and surge_time."
        load.problem("power", f"{asked:g} W", f"at most the rated {rated_w:g} W", fix)
    elif asked > surge_w or longest > surge_s:
        allowed = f"at most {rated_w:g} W, or up to {surge_w:g} W for no more than {surge_s:g} s"
        load.problem(
            "power", f"{asked:g} W for {longest:g} s", allowed, "Take a larger inverter or less load."
        )


def _with_cutout(load: Table, found: Load) -> Load:
    cutout_v = load.quantity("cutout_voltage", "voltage", above=0.0, high=MAX_DC_V)
    delay_s = load.quantity("cutout_delay", "duration", low=0.0, high=3600.0, default=0.0)
    restart_v = load.quantity("restart_voltage", "voltage", above=0.0, high=MAX_DC_V)
    if not load.has("cutout_voltage"):
        for key in ("cutout_delay", "restart_voltage"):
            if load.has(key):
                load.problem(key, "without cutout_voltage", "together with it", "Add cutout_voltage.")
        load.warn("no cutout_voltage stated: whether the inverter cuts out cannot be told")
    if cutout_v is not None and restart_v is not None and restart_v <= cutout_v:
        load.problem(
            "restart_voltage", f"{restart_v:g} V", f"above {cutout_v:g} V", "It restarts above cut-out."
        )
    return replace(found, cutout_v=cutout_v, cutout_delay_s=delay_s, restart_v=restart_v)
