"""The run of one outing as a few hundred moments: the middle, and the band that holds nine runs in ten."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.explain.answer_text import ending
from planner.explain.cautions import peak_is_shown
from planner.outing.exceedance import Trace as CurrentTrace
from planner.simulate.setup import Trace
from planner.verdict.assess import Assessment

Floats = NDArray[np.float64]

BAND = (0.05, 0.95)  # edges of a band that holds nine runs in ten
BUCKETS = 110  # a chart some 1,000 px wide shows no more; each keeps its extremes, so no surge is lost


@dataclass(frozen=True, slots=True)
class Band:
    """Middle run and the edges of the band, (k,) each; the middle is NaN once that run has ended."""

    middle: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True, slots=True)
class Course:
    """One outing over time; moments may repeat where a current jumps.

    time_s : (k,) rising [s]. charge_c : what is left until empty at this outing's use [C]. voltage_v, current_a : at
    the battery [V], [A]. stops_s, ended_by : the middle run's first end inside the outing; None when it completes.
    wanted : what the rest of the outing would draw after the middle run's end; None when it completes.
    reserve_c : what is to be kept [C]; None when nothing is. peak_shown : every pull was held on the bench.
    """

    time_s: Floats
    charge_c: Band
    voltage_v: Band
    current_a: Band
    duration_s: float
    cutoff_v: float
    stops_s: float | None
    ended_by: str
    wanted: CurrentTrace | None
    reserve_c: float | None
    peak_shown: bool
    draws: int


def course_of(assessment: Assessment) -> Course:
    """Read the stored trace of an assessment."""
    trace, batch = assessment.batch.run.trace, assessment.batch
    assert trace is not None  # an assessment always keeps it
    pick = _telling_steps(trace)
    ends = assessment.runtime.nominal_s < batch.duration_s - 1e-6
    cutoff = batch.setup.cutoff_v
    return Course(
        time_s=_paired(trace.start_s[pick], trace.end_s[pick]),
        charge_c=_charge(assessment, trace, pick),
        voltage_v=_band(assessment, _paired(trace.start_v[pick], trace.end_v[pick]), cutoff),
        current_a=_band(assessment, _paired(trace.start_a[pick], trace.end_a[pick]), 0.0),
        duration_s=batch.duration_s,
        cutoff_v=cutoff,
        stops_s=assessment.runtime.nominal_s if ends else None,
        ended_by=ending(assessment),
        wanted=_wanted(assessment),
        reserve_c=_reserve_c(assessment),
        peak_shown=peak_is_shown(assessment),
        draws=assessment.draws,
    )


def _telling_steps(trace: Trace) -> NDArray[np.intp]:
    """Steps to show: all, or of each of BUCKETS equal times the first, the last and those of least and most current.

    Of pulls alike the later one finds the battery lower: the step of least voltage is shown wherever it is.
    """
    count = len(trace.start_s)
    if count <= 4 * BUCKETS:
        return np.arange(count)
    current = np.nan_to_num(np.maximum(trace.start_a[:, 0], trace.end_a[:, 0]))
    edges = np.linspace(trace.start_s[0], trace.end_s[-1], BUCKETS + 1)
    cuts = np.unique(np.append(np.searchsorted(trace.start_s, edges[:-1]), count))
    volts = np.minimum(trace.start_v[:, 0], trace.end_v[:, 0])
    kept = [0, count - 1, int(np.nan_to_num(volts, nan=np.inf).argmin())]
    for begin, end in itertools.pairwise(cuts.tolist()):
        inside = current[begin:end]
        kept += [begin, end - 1, begin + int(inside.argmax()), begin + int(inside.argmin())]
    return np.unique(np.array(kept, dtype=np.intp))


def _paired(start: NDArray[Any], end: NDArray[Any]) -> NDArray[Any]:
    """(m, …) starts and ends of steps as (2m, …) moments in order."""
    return np.stack([start, end], axis=1).reshape(2 * len(start), *start.shape[1:])


def _band(assessment: Assessment, values: Floats, when_ended: float) -> Band:
    """(k, n) of all runs to a band. when_ended : what a run counts as once its battery is empty."""
    drawn = values[:, assessment.batch.draws].copy()
    if not drawn.shape[1]:
        return Band(values[:, 0], values[:, 0], values[:, 0])
    drawn[np.isnan(drawn)] = when_ended
    drawn.sort(axis=1)  # a quarter of what a partition about the four takes (measured)
    low, high = _edges(drawn)
    return Band(values[:, 0], low, high)


def _edges(ordered: Floats) -> tuple[Floats, Floats]:
    """Quantiles of BAND over the runs of (k, n) in order, linear between them as `numpy.quantile`."""
    place = np.array(BAND) * (ordered.shape[1] - 1)
    under = np.floor(place).astype(np.intp)
    over = np.minimum(under + 1, ordered.shape[1] - 1)
    edges = ordered[:, under] + (place - under) * (ordered[:, over] - ordered[:, under])
    return edges[:, 0], edges[:, 1]


def _charge(assessment: Assessment, trace: Trace, pick: NDArray[np.intp]) -> Band:
    """What is left until empty: the charge a run gave until its end less what it had given by then."""
    batch = assessment.batch
    amps = np.nan_to_num(0.5 * (trace.start_a + trace.end_a))
    used = np.zeros((len(amps) + 1, amps.shape[1]))  # at the edges of the steps
    np.cumsum(amps * (trace.end_s - trace.start_s)[:, np.newaxis], axis=0, out=used[1:])
    edges = np.union1d(pick, pick + 1)
    whole = np.where(np.isfinite(batch.run.end_s), batch.run.end_charge_c, np.nan)
    if np.isnan(whole).any():  # a battery that outlasts every run: the charge it holds at the start
        held = (np.asarray(batch.setup.start_soc) * batch.scenarios.circuit.charge_c).min(axis=1).sum(axis=0)
        whole = np.where(np.isnan(whole), held, whole)
    band = _band(assessment, np.maximum(whole - used[edges], 0.0), 0.0)
    place = _paired(np.searchsorted(edges, pick), np.searchsorted(edges, pick + 1))
    return Band(band.middle[place], band.low[place], band.high[place])


def _wanted(assessment: Assessment) -> CurrentTrace | None:
    """The need after the middle run's end."""
    end_s = float(assessment.batch.run.end_s[0])
    trace = assessment.need.trace
    later = trace.edges_s[:-1] >= end_s - 1e-6
    if end_s >= assessment.batch.duration_s - 1e-6 or not later.any():
        return None
    first = int(np.argmax(later))
    return CurrentTrace(trace.edges_s[first:], trace.start_a[first:], trace.end_a[first:])


def _reserve_c(assessment: Assessment) -> float | None:
    outing = assessment.outing
    if outing.get_home is not None:
        return outing.get_home.charge_c
    if outing.reserve_fraction and np.isfinite(assessment.covered.usable_c):
        return outing.reserve_fraction * assessment.covered.usable_c
    return None
