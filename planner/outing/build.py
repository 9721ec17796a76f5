"""From an outing's loads to a timeline: every load's own pieces first, then all edges together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.outing.motor import motor_current_a
from planner.outing.schema import Load, Log, Outing, Use
from planner.outing.timeline import Floats, Timeline

MERGE_S = 1e-6  # edges closer than this are one edge: rounding noise of sums of decimal times


@dataclass(frozen=True, slots=True)
class _Stretches:
    """Disjoint stretches of one load, start rising; outside them the load is off.

    start_s, end_s : (n,) [s]. current_start_a, current_end_a, power_w, conductance_s : (n,).
    on : (n,) the load is switched on, an inverter's idle part is not.
    """

    start_s: Floats
    end_s: Floats
    current_start_a: Floats
    current_end_a: Floats
    power_w: Floats
    conductance_s: Floats
    on: NDArray[np.bool_]


def build_timeline(outing: Outing) -> Timeline:
    """Every load's demand in pieces of time in which no load switches.

    outing : as the reader gives it; uses of one load do not overlap.
    Returns the timeline from 0 to the outing's length: its edges are the starts and ends of uses, every duty
    edge, start and end of every start surge, and the samples of recorded logs where the current changes.
    Edges closer than a microsecond are one. A start surge is the load's whole current for its duration at
    every switch-on, cut at the switch-off; abutting uses of one load are one stretch of being on.
    """
    stretches = [_with_surge(load, _stretches(load, outing.duration_s)) for load in outing.loads]
    edges_s = _edges(stretches, outing.duration_s)
    middle_s = 0.5 * (edges_s[:-1] + edges_s[1:])
    shape = (len(outing.loads), middle_s.size)
    start_a, end_a, power_w, conductance_s = (np.zeros(shape) for _ in range(4))
    uses_inverter = np.zeros(shape, dtype=np.bool_)
    for row, (load, own) in enumerate(zip(outing.loads, stretches, strict=True)):
        place = np.searchsorted(own.start_s, middle_s, side="right") - 1
        inside = place >= 0
        inside[inside] = middle_s[inside] < own.end_s[place[inside]]
        place = place[inside]
        start_a[row, inside] = _current_at(own, place, edges_s[:-1][inside])
        end_a[row, inside] = _current_at(own, place, edges_s[1:][inside])
        power_w[row, inside] = own.power_w[place]
        conductance_s[row, inside] = own.conductance_s[place]
        uses_inverter[row] = inside & (load.kind == "inverter")
    return Timeline(
        edges_s,
        start_a,
        end_a,
        power_w,
        conductance_s,
        uses_inverter,
        cutout_v=_or_nan(load.cutout_v for load in outing.loads),
        cutout_delay_s=_or_nan(
            None if load.cutout_v is None else load.cutout_delay_s for load in outing.loads
        ),
        restart_v=_or_nan(load.restart_v for load in outing.loads),
        spread=np.array([load.spread for load in outing.loads], dtype=np.float64),
        names=tuple(load.name for load in outing.loads),
        evidence=tuple(load.evidence for load in outing.loads),
    )


def count_pieces(duration_s: float, loads: Iterable[Load]) -> int:
    """An upper bound of the number of pieces `build_timeline` makes, without making them."""
    edges = 1
    for load in loads:
        for use in load.uses:
            length_s = min(use.length_s, duration_s)
            cycles = 1
            if use.on_s is not None and use.off_s is not None:
                cycles = int(length_s / (use.on_s + use.off_s)) + 1
            if load.log is not None:
                edges += len(load.log.time_s)
            edges += cycles * (2 if load.surge is None else 3)
    return edges


def samples_needed(current_a: Floats, between_samples: str) -> NDArray[np.bool_]:
    """Which samples of a log say something new: (n,) for currents (n,).

    Held, a sample equal to the one before it says nothing; joined by lines, one equal to both its
    neighbours. First and last are kept, as they say how long the log is.
    """
    needed = np.ones(current_a.size, dtype=np.bool_)
    needed[1:-1] = current_a[1:-1] != current_a[:-2]
    if between_samples == "line":
        needed[1:-1] |= current_a[1:-1] != current_a[2:]
    return needed


def _or_nan(values: Iterable[float | None]) -> Floats:
    return np.array([np.nan if value is None else value for value in values], dtype=np.float64)


def _edges(stretches: Iterable[_Stretches], duration_s: float) -> Floats:
    """All edges from 0 to the outing's length, those within rounding noise of each other merged."""
    parts = [side for own in stretches for side in (own.start_s, own.end_s)]
    inner = np.unique(np.concatenate([np.zeros(1), *parts]))
    inner = inner[(inner > MERGE_S) & (inner < duration_s - MERGE_S)]
    inner = inner[np.diff(inner, prepend=0.0) > MERGE_S]
    return np.concatenate([[0.0], inner, [duration_s]])


def _current_at(own: _Stretches, place: NDArray[np.intp], time_s: Floats) -> Floats:
    """Current of the stretches `place` at a time inside them or at their ends [A]."""
    start_a, end_a = own.current_start_a[place], own.current_end_a[place]
    if np.array_equal(start_a, end_a):
        return start_a
    begun_s, length_s = time_s - own.start_s[place], own.end_s[place] - own.start_s[place]
    share = np.clip(begun_s / length_s, 0.0, 1.0)
    # The two ends are kept to the last digit: a level taken from a sample must be met by that sample.
    return np.where(share == 1.0, end_a, start_a + share * (end_a - start_a))


def _stretches(load: Load, duration_s: float) -> _Stretches:
    """The load's stretches without start surges, cut at the outing's end."""
    parts = [_use_stretches(load, use) for use in sorted(load.uses, key=lambda use: use.start_s)]
    if not parts:
        nothing = np.zeros(0)
        return _Stretches(*(nothing,) * 6, np.zeros(0, dtype=np.bool_))
    own = _join(parts)
    return _keep(own, own.start_s < duration_s - MERGE_S, duration_s)


def _join(parts: list[_Stretches]) -> _Stretches:
    return _Stretches(
        *(np.concatenate([getattr(part, name) for part in parts]) for name in _Stretches.__slots__)
    )


def _select(own: _Stretches, chosen: NDArray[np.bool_] | NDArray[np.intp]) -> _Stretches:
    return _Stretches(*(getattr(own, name)[chosen] for name in _Stretches.__slots__))


def _in_order(own: _Stretches) -> _Stretches:
    return _select(own, np.argsort(own.start_s, kind="stable"))


def _keep(own: _Stretches, keep: NDArray[np.bool_], duration_s: float) -> _Stretches:
    """The chosen stretches, cut at the outing's end and a moving current with them."""
    last_s = np.minimum(own.end_s, duration_s)
    place = np.arange(own.start_s.size)
    end_a = _current_at(own, place, last_s) if own.start_s.size else own.current_end_a
    return _Stretches(
        own.start_s[keep],
        last_s[keep],
        own.current_start_a[keep],
        end_a[keep],
        own.power_w[keep],
        own.conductance_s[keep],
        own.on[keep],
    )


def _use_stretches(load: Load, use: Use) -> _Stretches:
    """One use: its on-parts and, for an inverter, its idle parts between them."""
    if load.log is not None:
        return _log_stretches(load.log, use)
    on_start_s, on_end_s = _on_parts(use)
    current_a, power_w, conductance_s = _demand(load, use)
    if current_a == power_w == conductance_s == 0.0:
        on_start_s, on_end_s = on_start_s[:0], on_end_s[:0]  # a motor at speed 0 is off, not on at 0 A
    drawing = _constant(on_start_s, on_end_s, current_a, power_w, conductance_s, on=True)
    if load.kind != "inverter" or use.on_s is None:
        return drawing
    idle_end_s = np.append(on_start_s[1:], use.start_s + use.length_s)
    pause = idle_end_s - on_end_s > MERGE_S
    idle = _constant(on_end_s[pause], idle_end_s[pause], 0.0, load.idle_w, 0.0, on=False)
    return _in_order(_join([drawing, idle]))


def _on_parts(use: Use) -> tuple[Floats, Floats]:
    """Starts and ends of the parts of a use in which the load is on [s]; a duty starts with on."""
    end_s = use.start_s + use.length_s
    if use.on_s is None or use.off_s is None:
        return np.array([use.start_s]), np.array([end_s])
    period_s = use.on_s + use.off_s
    begun = np.arange(int(np.ceil(use.length_s / period_s - MERGE_S / period_s)), dtype=np.float64)
    start_s = use.start_s + begun * period_s
    return start_s, np.minimum(start_s + use.on_s, end_s)


def _demand(load: Load, use: Use) -> tuple[float, float, float]:
    """Current [A], power [W] and conductance [S] of a load that is on."""
    if load.kind == "motor":
        return motor_current_a(load, use.speed or 0.0), 0.0, 0.0
    if load.kind == "inverter":
        ac_w = load.power_w or 0.0
        if load.losses is not None:  # measured efficiencies hold the idle loss already
            return 0.0, load.losses.dc_power_w(ac_w), 0.0
        return 0.0, load.idle_w + ac_w / (load.efficiency or 1.0), 0.0
    conductance_s = 0.0 if load.resistance_ohm is None else 1.0 / load.resistance_ohm
    return load.current_a or 0.0, load.power_w or 0.0, conductance_s


def _constant(
    start_s: Floats, end_s: Floats, current_a: float, power_w: float, conductance_s: float, *, on: bool
) -> _Stretches:
    same = np.ones(start_s.size)
    return _Stretches(
        start_s,
        end_s,
        current_a * same,
        current_a * same,
        power_w * same,
        conductance_s * same,
        np.full(start_s.size, on),
    )


def _log_stretches(log: Log, use: Use) -> _Stretches:
    """A recorded log from the start of its use; equal samples that follow each other are one stretch."""
    time_s, current_a = np.asarray(log.time_s), np.asarray(log.current_a)
    needed = samples_needed(current_a, log.between_samples)
    time_s, current_a = time_s[needed] + use.start_s, current_a[needed]
    start_a = current_a[:-1]
    end_a = current_a[1:] if log.between_samples == "line" else start_a
    nothing = np.zeros(start_a.size)
    own = _Stretches(
        time_s[:-1], time_s[1:], start_a, end_a, nothing, nothing, (start_a > 0.0) | (end_a > 0.0)
    )
    # Two samples with one time stamp leave no time between them: the jump stays, the stretch goes.
    own = _select(own, own.end_s > own.start_s)
    end_s = use.start_s + use.length_s
    return _keep(own, own.start_s < end_s - MERGE_S, end_s)


def _with_surge(load: Load, own: _Stretches) -> _Stretches:
    """The stretches with the start surge in place of the demand at every switch-on.

    A surge may outlast a short use when the next one follows without a pause: it ends with the being on.
    """
    if load.surge is None or not own.on.any():
        return own
    begins = own.on.copy()
    begins[1:] &= ~own.on[:-1] | (own.start_s[1:] - own.end_s[:-1] > MERGE_S)
    first = np.flatnonzero(begins)
    ends = own.on.copy()
    ends[:-1] &= ~own.on[1:] | (own.start_s[1:] - own.end_s[:-1] > MERGE_S)
    surge_start_s = own.start_s[first]
    surge_end_s = np.minimum(surge_start_s + load.surge.duration_s, own.end_s[np.flatnonzero(ends)])
    surge = _constant(surge_start_s, surge_end_s, load.surge.current_a, 0.0, 0.0, on=True)
    run = np.clip(np.cumsum(begins) - 1, 0, None)
    rest_start_s = np.where(own.on, np.maximum(own.start_s, surge_end_s[run]), own.start_s)
    rest = _Stretches(
        rest_start_s,
        own.end_s,
        own.current_start_a,
        own.current_end_a,
        own.power_w,
        own.conductance_s,
        own.on,
    )
    left = own.end_s - rest_start_s > MERGE_S
    return _in_order(_join([surge, _select(rest, left)]))
