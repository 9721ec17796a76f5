"""Rows of a sweep that differ by numbers only, run side by side in one call of the engine.

Rows go together when the same loads switch at the same moments in the same pattern and their steps are the same;
then each row is a few columns of one run. A scenario of the engine does not depend on its company, so a row comes
out the same alone and in any group.
"""

from __future__ import annotations

import hashlib
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from planner.battery.draws import Scenarios
from planner.outing.build import build_timeline
from planner.outing.coarse import coarsen
from planner.outing.schema import Outing
from planner.outing.timeline import Timeline
from planner.record.schema import Record
from planner.simulate.engine import simulate
from planner.simulate.leap import may_leap
from planner.simulate.pieces import step_count
from planner.simulate.setup import LONGEST_RUN_S, Run, Setup, Trace
from planner.verdict.batch import Batch, draw, make_setup, run_batch, sizing_a
from planner.verdict.bench import Bench
from planner.verdict.centre import centre_batch, centre_scenarios

Floats = NDArray[np.float64]

MOST_COLUMNS = 2000  # of one call; more of them go into several, so that the traces do not fill the memory


@dataclass(frozen=True, slots=True)
class Shape:
    """One row made ready: its timeline as a pattern times a factor for each load, and what it goes together by.

    factor : (L,) by which the pattern (largest value 1) gives the loads. key : None when it must run alone.
    """

    outing: Outing
    timeline: Timeline
    pattern: Timeline
    factor: Floats
    setup: Setup
    key: Hashable | None


@dataclass(frozen=True, slots=True)
class _Way:
    """How every row is run: the battery, a bank's records, and the draws, 0 for the centre alone."""

    bench: Bench
    units: tuple[Record, ...]
    draws: int
    seed: int

    def alone(self, outing: Outing) -> Batch:
        """One row by itself."""
        bench = self.bench
        if self.draws:
            return run_batch(bench.record, outing, self.draws, self.seed, bench.fitted, self.units)
        return centre_batch(bench.record, outing, bench.fitted, self.units)

    def scenarios(self, outing: Outing) -> Scenarios:
        """The scenarios of every row that has as many loads as this one."""
        if self.draws:
            return draw(outing, self.bench.fitted, self.draws, self.seed)
        return centre_scenarios(outing, self.bench.fitted)


def run_rows(bench: Bench, outings: Sequence[Outing], units: tuple[Record, ...] = (), draws: int = 0,
             seed: int = 1) -> Iterator[tuple[int, Batch]]:  # fmt: skip
    """The place and the batch of every outing, in the order in which they are run.

    units : of a bank, where they differ. draws : 0 for the centre of the inputs alone.
    """
    way = _Way(bench, units, draws, seed)
    if units:
        yield from ((place, way.alone(outing)) for place, outing in enumerate(outings))
        return
    shapes = [_shape(bench, outing) for outing in outings]
    groups: dict[Hashable, list[int]] = {}
    for place, shape in enumerate(shapes):
        groups.setdefault((place,) if shape.key is None else shape.key, []).append(place)
    for places in groups.values():
        if shapes[places[0]].key is None:
            yield places[0], way.alone(shapes[places[0]].outing)
            continue
        chosen = way.scenarios(shapes[places[0]].outing)
        most = max(MOST_COLUMNS // chosen.load_normal.shape[1], 1)
        for first in range(0, len(places), most):
            part = places[first : first + most]
            yield from zip(part, _together(way, [shapes[k] for k in part], chosen), strict=True)


def _shape(bench: Bench, outing: Outing) -> Shape:
    timeline = build_timeline(outing)
    setup = make_setup(bench.record, outing, bench.fitted.charge_c, np.ones((len(outing.loads), 1)))
    parts = (timeline.current_start_a, timeline.current_end_a, timeline.power_w, timeline.conductance_s)
    factor = np.max([np.abs(part).max(axis=1) for part in parts], axis=0)
    divisor = np.where(factor > 0.0, factor, 1.0)[:, np.newaxis]
    start, end, power, conductance = (part / divisor for part in parts)
    pattern = replace(
        timeline, current_start_a=start, current_end_a=end, power_w=power, conductance_s=conductance
    )
    together = outing.bank is None and coarsen(timeline, outing.cutoff_delay_s) is timeline and factor.any()
    key = _key(pattern, timeline, setup) if together else None
    return Shape(outing, timeline, pattern, factor, setup, key)


def _key(pattern: Timeline, timeline: Timeline, setup: Setup) -> Hashable:
    """Everything that must be the same of rows that run together."""
    sizes = sizing_a(timeline)
    charge_c = setup.size_charge_c or 0.0
    counts = [step_count(length, float(current), charge_c, setup)
              for length, current in zip(np.diff(timeline.edges_s), sizes, strict=True)]  # fmt: skip
    digest = hashlib.sha256()
    for values in (pattern.edges_s, pattern.current_start_a, pattern.current_end_a, pattern.power_w,
                   pattern.conductance_s, pattern.uses_inverter, pattern.cutout_v, pattern.cutout_delay_s,
                   pattern.restart_v, np.array(counts)):  # fmt: skip
        digest.update(np.ascontiguousarray(values).tobytes())
    return (
        digest.digest(),
        setup.cutoff_v,
        setup.cutoff_delay_s,
        may_leap(timeline, float(sizes.max()), setup.trips),
    )


def _together(way: _Way, shapes: Sequence[Shape], chosen: Scenarios) -> Iterator[Batch]:
    """Rows of one key through the engine in one call; a row that outlasts the longest run is run again alone."""
    width = chosen.load_normal.shape[1]
    first, bench = shapes[0], way.bench
    columns = np.tile(np.arange(width), len(shapes))
    drawn = [np.exp(shape.timeline.spread[:, np.newaxis] * chosen.load_normal) for shape in shapes]
    setup = replace(
        first.setup,
        load_factor=np.hstack(
            [shape.factor[:, np.newaxis] * own for shape, own in zip(shapes, drawn, strict=True)]
        ),
        cell_k=_spread([shape.setup.cell_k for shape in shapes], width),
        ambient_k=_spread([shape.setup.ambient_k for shape in shapes], width),
        start_soc=_spread([shape.setup.start_soc for shape in shapes], width),
        wiring_ohm=_spread([shape.setup.wiring_ohm for shape in shapes], width),
        size_current_a=sizing_a(first.timeline),
    )
    run = simulate(chosen.circuit.select(columns), first.pattern, setup)
    for place, shape in enumerate(shapes):
        own = own_columns(run, slice(place * width, (place + 1) * width))
        if not (own.end_s <= LONGEST_RUN_S).all():  # how far past that a run goes does depend on its company
            yield way.alone(shape.outing)
            continue
        alone = replace(shape.setup, load_factor=drawn[place])
        yield Batch(
            bench.record, shape.outing, bench.fitted, chosen, shape.timeline, shape.timeline, alone, own
        )


def _spread(values: Sequence[Floats | float], width: int) -> Floats:
    """One number a row to one a column."""
    return np.repeat(np.array([float(value) for value in values]), width)


def own_columns(run: Run, columns: slice) -> Run:
    """The part of a run that belongs to some of its columns, as if they had run alone. Single units only."""
    trace = run.trace
    parts = {
        field.name: getattr(run, field.name)[..., columns].copy()
        for field in fields(Run)
        if field.name not in ("steps", "trace")
    }
    return Run(**parts, steps=run.steps, trace=None if trace is None else _own_trace(trace, columns))


def _own_trace(trace: Trace, columns: slice) -> Trace:
    alive = np.isfinite(trace.end_v[:, columns]).any(axis=1)
    last = int(np.flatnonzero(alive)[-1]) + 1 if alive.any() else 0
    steps = {name: getattr(trace, name)[:last] for name in ("start_s", "end_s", "piece")}
    own = {
        name: getattr(trace, name)[:last, columns].copy()
        for name in ("start_a", "end_a", "start_v", "end_v", "end_soc", "end_temp_k")
    }
    branch = {"branch_start_a": own["start_a"][:, :1], "branch_end_a": own["end_a"][:, :1]}
    return Trace(**steps, **own, **branch)
