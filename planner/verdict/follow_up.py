"""A log of a real outing against its prediction: inside the band or not, and which input was wrong.

The prediction is run again with what the log knows put in one thing after another: its current, then its
temperature. The first that brings the band to what happened was the wrong input; when none does, it is the battery.
A trip afloat at a current and time that the bench had demonstrated is told apart: it contradicts the record.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from planner.battery.envelope import DEMONSTRATED, Zone, classify
from planner.battery.fit import fit_record
from planner.constants import COULOMB_PER_AH
from planner.errors import InputRefused, Problem
from planner.log_file import LogColumns
from planner.log_file.stated import LogOptions
from planner.outing.recorded import charge_c
from planner.outing.schema import Load, Log, Outing, Use
from planner.record.schema import Record
from planner.verdict.assess import DRAWS, SEED
from planner.verdict.batch import Batch, cutoff_v, run_batch
from planner.verdict.bench import Bench, bench_of

Floats = NDArray[np.float64]

INSIDE, ABOVE, BELOW, UNKNOWN = "inside", "above", "below", "not reached"
ENDED, OPENED, STOPPED = "cutoff", "opened", "stopped"
DEAD_SHARE = 0.5  # of the cut-off voltage: lower than that no pack is, so the unit had opened (no source)
EMPTY_V = 0.5  # an opening this close to the cut-off is that of an empty unit, as for a bench test
SAME_A = 0.9  # of the current at the opening: what was held with it (common practice, no source)
LOW, HIGH = 0.1, 0.9  # the band: eight draws in ten


@dataclass(frozen=True, slots=True)
class Band:
    """A predicted quantity and what was found: SI. place : inside, above or below the band; not reached."""

    low: float
    middle: float
    high: float
    found: float
    place: str


@dataclass(frozen=True, slots=True)
class Opened:
    """The battery opened afloat. current_a, held_s : what it carried until then.

    zone : what the bench says of it; None for a bank, whose log does not tell which unit opened first and at what.
    """

    time_s: float
    current_a: float
    held_s: float
    last_v: float
    zone: Zone | None

    @property
    def contradicts(self) -> bool:
        """Whether the bench had demonstrated this very need: a serious finding."""
        return self.zone is not None and self.zone.name == DEMONSTRATED


@dataclass(frozen=True, slots=True)
class FollowUp:
    """The comparison. ended : how the log ended.

    charge : over the logged time, up to the outing's own end. runtime : to the battery's end.
    steps : the same runtime band with the log's current, then its temperature too: (what was put in, band).
    wrong : load, temperature, battery or None. logged_k : mean of the log's temperatures, None without.
    """

    record: Record
    outing: Outing
    length_s: float
    ended: str
    charge: Band
    runtime: Band
    lowest_v: Band | None
    steps: tuple[tuple[str, Band], ...]
    wrong: str | None
    opened: Opened | None
    logged_k: float | None
    warnings: tuple[str, ...]


def follow_up(record: Record, outing: Outing, log: Path, draws: int = DRAWS, seed: int = SEED,
              says: LogOptions | None = None, units: tuple[Record, ...] = ()) -> FollowUp:  # fmt: skip
    """Compare a log of the outing with what was predicted. Nothing is written anywhere.

    log : time and current, discharge positive unless stated, and where they were logged the voltage at the battery and
    its temperature. says : what its file leaves open. units : records of a bank's units, where the outing names them.
    Raises InputRefused when it cannot be read, holds no discharge, or puts more back than it draws by an unstated sign.
    """
    says = says or LogOptions()
    columns = says.read_alone(log)
    time_s, amps = _discharge(log, columns, says)
    bench = bench_of(record, fit_record(record))
    stop = _end(columns, cutoff_v(units or (record,), outing), time_s, amps, None if outing.bank else bench,
                outing.cutoff_delay_s)  # fmt: skip
    end_s, ended = float(time_s[stop[0]]), stop[1]
    predicted = partial(run_batch, record, draws=draws, seed=seed, fitted=bench.fitted, units=units)
    first = predicted(outing)
    runtime = _runtime(first, end_s, ended)
    real = _with_log(outing, log, time_s[: stop[0] + 1], amps[: stop[0] + 1])
    kelvin = None if columns.temperature_k is None else _mean(columns.temperature_k)
    steps = [("load", _runtime(predicted(real), end_s, ended))]
    if kelvin is not None:
        warm = replace(real, cell_k=float(kelvin), ambient_k=float(kelvin))
        steps.append(("temperature", _runtime(predicted(warm), end_s, ended)))
    # past its end the outing is repeated, but only the first one's course is kept
    known = int(np.searchsorted(time_s[: stop[0] + 1], outing.duration_s, side="right"))
    charge = _charge(first, float(time_s[known - 1]), charge_c(time_s[:known], amps[:known], "line"))
    lowest = _lowest(first, columns, stop[0], ended)
    wrong = _wrong(runtime, charge, steps)
    return FollowUp(record, outing, end_s, ended, charge, runtime, lowest, tuple(steps), wrong, stop[2], kelvin,
                    columns.warnings)  # fmt: skip


def _discharge(log: Path, columns: LogColumns, says: LogOptions) -> tuple[Floats, Floats]:
    """Times from 0 and currents, charging left out.

    An outing takes more than it puts back: a log of the other way round is asked about, unless its sign is stated. What
    is left of a discharge at rest, a meter's zero, would else pass for the outing.
    """
    assert columns.current_a is not None  # read_columns requires it
    amps = says.turned(np.where(np.isfinite(columns.current_a), columns.current_a, 0.0))
    time_s = columns.time_s - columns.time_s[0]
    out_c, back_c = (charge_c(time_s, np.maximum(sign * amps, 0.0), "line") for sign in (1.0, -1.0))
    if says.discharge is None and back_c > out_c:
        out, back = (f"{charge / COULOMB_PER_AH:.2f} Ah of" for charge in (out_c, back_c))
        fix = 'Say discharge = "negative" if that is discharge here, or "positive" if more was put back than drawn.'
        found = f"{back} negative and {out} positive current"
        raise InputRefused([Problem(str(log), "current", found, "more drawn than put back", fix)])
    if amps.size < 2 or time_s[-1] <= 0.0 or not (amps > 0.0).any():
        fix = "Take the log of the outing itself, with the sign that its discharge has."
        raise InputRefused([Problem(str(log), "current", "no discharge", "a log of an outing", fix)])
    return time_s, np.maximum(amps, 0.0)


def _mean(kelvin: Floats) -> float | None:
    known = kelvin[np.isfinite(kelvin)]
    return float(known.mean()) if known.size else None


def _end(columns: LogColumns, cutoff: float, time_s: Floats, amps: Floats, bench: Bench | None, delay_s: float
         ) -> tuple[int, str, Opened | None]:  # fmt: skip
    """The sample at which the outing ended, how, and the opening if it was one. delay_s : the cut-off's own."""
    volts = columns.voltage_v
    last = len(time_s) - 1
    if volts is None:
        return last, STOPPED, None
    dead = np.flatnonzero(volts < DEAD_SHARE * cutoff)
    down = _stays_down(volts <= cutoff, time_s, delay_s)
    if dead.size and dead[0] > 0:
        before = int(dead[0]) - 1
        opened = _opening(time_s, amps, volts, before, int(dead[0]), bench)
        if opened is None or opened.last_v <= cutoff + EMPTY_V:
            return int(dead[0]), ENDED, None
        return int(dead[0]), OPENED, opened
    return (last, STOPPED, None) if down is None else (down, ENDED, None)


def _stays_down(below: NDArray[np.bool_], time_s: Floats, delay_s: float) -> int | None:
    """The first sample below a voltage that is not left again within the delay: a dip is no end. None without one."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], below, [False]])))
    for first, after in zip(edges[::2], edges[1::2], strict=True):
        if after == below.size or time_s[after - 1] - time_s[first] >= delay_s:
            return int(first)
    return None


def _opening(
    time_s: Floats, amps: Floats, volts: Floats, before: int, dead: int, bench: Bench | None
) -> Opened | None:
    """What the unit carried when it opened, by the last sample before."""
    current = float(amps[before])
    if current <= 0.0:
        return None
    lower = np.flatnonzero(amps[: before + 1] < SAME_A * current)
    first = int(lower[-1]) + 1 if lower.size else 0
    held = float(time_s[dead] - time_s[first])
    zone = None if bench is None else classify(bench.envelope, current, held)
    return Opened(float(time_s[dead]), current, held, float(volts[before]), zone)


def _place(low: float, high: float, found: float) -> str:
    return BELOW if found < low else ABOVE if found > high else INSIDE


def _band(values: Floats, centre: float, found: float) -> Band:
    low, high = (float(np.quantile(values, share, method="lower")) for share in (LOW, HIGH))
    return Band(low, centre, high, found, _place(low, high, found))


def _runtime(batch: Batch, end_s: float, ended: str) -> Band:
    """The battery's end. An outing that was stopped before says only that it lasts at least so long."""
    times = batch.runtime_s()
    band = _band(times[batch.draws], float(times[0]), end_s)
    if ended == STOPPED and band.place != ABOVE:
        return replace(band, place=UNKNOWN)
    return band


def _charge(batch: Batch, end_s: float, found_c: float) -> Band:
    """Charge taken out until a moment of the outing, by the draws' own loads."""
    trace = batch.run.trace
    assert trace is not None  # run_batch always keeps it
    span = np.clip(end_s - trace.start_s, 0.0, trace.end_s - trace.start_s)[:, np.newaxis]
    used = (np.nan_to_num(0.5 * (trace.start_a + trace.end_a)) * span).sum(axis=0)
    return _band(used[batch.draws], float(used[0]), found_c)


def _lowest(batch: Batch, columns: LogColumns, stop: int, ended: str) -> Band | None:
    """Lowest voltage of the whole outing; None where the log does not tell or did not get so far."""
    if columns.voltage_v is None or ended != STOPPED:
        return None
    found = float(np.nanmin(columns.voltage_v[: stop + 1]))
    return _band(batch.run.min_v[batch.draws], float(batch.run.min_v[0]), found)


def _with_log(outing: Outing, log: Path, time_s: Floats, amps: Floats) -> Outing:
    """The outing with the logged current in place of all its loads."""
    end = float(time_s[-1])
    loads = (Load(name=log.name, kind="recorded", uses=(Use(0.0, end),), evidence="measured", spread=0.02,
                  log=Log(log, tuple(time_s.tolist()), tuple(amps.tolist()), "line")),)  # fmt: skip
    return replace(outing, duration_s=end, loads=loads)


def _wrong(runtime: Band, charge: Band, steps: list[tuple[str, Band]]) -> str | None:
    """The first input that, put right, brings the band to what happened; None when nothing contradicts."""
    if runtime.place in (INSIDE, UNKNOWN):
        return "load" if charge.place != INSIDE else None
    for name, band in steps:
        if band.place in (INSIDE, UNKNOWN):
            return name
    return "battery"
