"""Rows of a sweep that differ by numbers only, run side by side in one call of the engine.

Rows go together when the same loads switch at the same moments in the same pattern and their steps are the same;
then each row is a few columns of one run. A scenario of the engine does not depend on its company, so a row comes
out the same alone and in any group.
"""

from __future__ import annotations

import hashlib
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from planner.battery.draws import Scenarios
from planner.battery.fit import Fitted
from planner.outing.build import build_timeline
from planner.outing.coarse import coarsen
from planner.outing.schema import Outing
from planner.outing.timeline import Timeline
from planner.record.schema import Record
from planner.simulate.demand import rough_current_a
from planner.simulate.engine import simulate
from planner.simulate.leap import may_leap
from planner.simulate.march import step_count
from planner.simulate.setup import LONGEST_RUN_S, Run, Setup, Trace
from planner.verdict.batch import Batch, make_setup
from planner.verdict.centre import centre_batch, centre_scenarios

Floats = NDArray[np.float64]

MOST_CALLS = 2  # of the engine, for outings that are to be run together
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


def run_rows(
    record: Record, fitted: Fitted, outings: Sequence[Outing], units: tuple[Record, ...] = ()
) -> list[Batch]:
    """The batch of every outing at the centre of its inputs, in order."""
    if units:
        return [centre_batch(record, outing, fitted, units) for outing in outings]
    return _grouped(record, fitted, [_shape(record, fitted, outing) for outing in outings])


def run_alike(record: Record, fitted: Fitted, outings: Sequence[Outing]) -> list[Batch] | None:
    """The same in one call of the engine or two, whatever the steps; None for outings that cannot share one.

    The rows share the finest of their steps, so that each differs from itself alone by what a finer step changes.
    """
    shapes = [_shape(record, fitted, outing, same_steps=False) for outing in outings]
    keys = {shape.key for shape in shapes}
    return None if None in keys or len(keys) > MOST_CALLS else _grouped(record, fitted, shapes)


def _grouped(record: Record, fitted: Fitted, shapes: Sequence[Shape]) -> list[Batch]:
    groups: dict[Hashable, list[int]] = {}
    for place, shape in enumerate(shapes):
        groups.setdefault((place,) if shape.key is None else shape.key, []).append(place)
    found: dict[int, Batch] = {}
    for places in groups.values():
        if shapes[places[0]].key is None:
            found[places[0]] = centre_batch(record, shapes[places[0]].outing, fitted)
            continue
        chosen = centre_scenarios(shapes[places[0]].outing, fitted)
        width = chosen.load_normal.shape[1]
        most = max(MOST_COLUMNS // width, 1)
        for first in range(0, len(places), most):
            part = places[first : first + most]
            found.update(zip(part, _together(record, fitted, [shapes[k] for k in part], chosen), strict=True))
    return [found[place] for place in range(len(shapes))]


def _shape(record: Record, fitted: Fitted, outing: Outing, same_steps: bool = True) -> Shape:
    timeline = build_timeline(outing)
    setup = make_setup(record, outing, fitted, np.ones((len(outing.loads), 1)))
    parts = (timeline.current_start_a, timeline.current_end_a, timeline.power_w, timeline.conductance_s)
    factor = np.max([np.abs(part).max(axis=1) for part in parts], axis=0)
    divisor = np.where(factor > 0.0, factor, 1.0)[:, np.newaxis]
    start, end, power, conductance = (part / divisor for part in parts)
    pattern = replace(
        timeline, current_start_a=start, current_end_a=end, power_w=power, conductance_s=conductance
    )
    together = outing.bank is None and coarsen(timeline, outing.cutoff_delay_s) is timeline and factor.any()
    key = _key(pattern, timeline, setup, same_steps) if together else None
    return Shape(outing, timeline, pattern, factor, setup, key)


def _key(pattern: Timeline, timeline: Timeline, setup: Setup, same_steps: bool) -> Hashable:
    """Everything that must be the same of rows that run together."""
    rough = rough_current_a(timeline)
    charge_c = setup.size_charge_c or 0.0
    counts = [step_count(length, float(current), charge_c, setup)
              for length, current in zip(np.diff(timeline.edges_s), rough, strict=True) if same_steps]  # fmt: skip
    digest = hashlib.sha256()
    for values in (pattern.edges_s, pattern.current_start_a, pattern.current_end_a, pattern.power_w,
                   pattern.conductance_s, pattern.uses_inverter, pattern.cutout_v, pattern.cutout_delay_s,
                   pattern.restart_v, np.array(counts)):  # fmt: skip
        digest.update(np.ascontiguousarray(values).tobytes())
    return (
        digest.digest(),
        setup.cutoff_v,
        setup.cutoff_delay_s,
        may_leap(timeline, float(rough.max()), setup.trips),
    )


def _together(record: Record, fitted: Fitted, shapes: Sequence[Shape], chosen: Scenarios) -> list[Batch]:
    """Rows of one key through the engine in one call; a row that outlasts the longest run is run again alone."""
    width = chosen.load_normal.shape[1]
    first = shapes[0]
    columns = np.tile(np.arange(width), len(shapes))
    setup = replace(
        first.setup,
        load_factor=np.repeat(np.array([shape.factor for shape in shapes]).T, width, axis=1),
        cell_k=_spread([shape.setup.cell_k for shape in shapes], width),
        ambient_k=_spread([shape.setup.ambient_k for shape in shapes], width),
        start_soc=_spread([shape.setup.start_soc for shape in shapes], width),
        wiring_ohm=_spread([shape.setup.wiring_ohm for shape in shapes], width),
        size_current_a=np.max([rough_current_a(shape.timeline) for shape in shapes], axis=0),
    )
    run = simulate(chosen.circuit.select(columns), first.pattern, setup)
    batches = []
    for place, shape in enumerate(shapes):
        own = own_columns(run, slice(place * width, (place + 1) * width))
        if not (own.end_s <= LONGEST_RUN_S).all():  # how far past that a run goes does depend on its company
            batches.append(centre_batch(record, shape.outing, fitted))
            continue
        alone = replace(shape.setup, load_factor=np.ones((len(shape.factor), width)))
        batches.append(
            Batch(record, shape.outing, fitted, chosen, shape.timeline, shape.timeline, alone, own)
        )
    return batches


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
