"""The whole answer: one record, one outing, perhaps a climate, to checks and one verdict."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.battery.envelope import Envelope
from planner.battery.fit import Fitted, fit_record
from planner.install.circuit import WiringResult
from planner.outing.schema import Outing
from planner.record.schema import Record
from planner.verdict.bank_check import BankResult, bank_check, judge_bank
from planner.verdict.batch import Batch, run_batch
from planner.verdict.bench import Bench, bench_of
from planner.verdict.check import GOOD, NOT_PROVEN, Check, Told, overall
from planner.verdict.energy import Coverage, beyond_rate, coverage, energy_check, lowest_tenth, reserve_check
from planner.verdict.heat import heat_check
from planner.verdict.inverter import inverter_check
from planner.verdict.links import LinkLimit, rank_links
from planner.verdict.need import Need, need_of, used_until
from planner.verdict.peak import Peak, carried_as_one, find_peak, peak_check
from planner.verdict.winter_check import Winter, winter_check, work_out_bank_winter
from planner.verdict.wiring_check import judge_cable, wiring_check
from planner.winter.schema import Climate

Floats = NDArray[np.float64]

DRAWS = 500
SEED = 1


@dataclass(frozen=True, slots=True)
class Runtime:
    """Runtimes [s], inf beyond the longest run, and the centre at the outing's end or its own if earlier."""

    nominal_s: float
    p10_s: float
    p50_s: float
    p90_s: float
    needed_s: float
    ended_by: str
    completes: float
    charge_c: float
    energy_j: float
    min_v: float
    final_k: float


@dataclass(frozen=True, slots=True)
class Assessment:
    """Everything that was worked out for one battery and one outing."""

    record: Record
    outing: Outing
    climate: Climate | None
    draws: int
    seed: int
    fitted: Fitted
    bench: Bench
    batch: Batch
    need: Need
    peak: Peak
    covered: Coverage
    runtime: Runtime
    wiring: WiringResult | None
    links: tuple[LinkLimit, ...]
    bank: BankResult | None
    winter: Winter | None
    checks: tuple[Check, ...]
    verdict: str
    deciding: tuple[Check, ...]

    @property
    def envelope(self) -> Envelope:
        """How hard for how long the unit was shown to hold."""
        return self.bench.envelope


def assess(
    record: Record,
    outing: Outing,
    climate: Climate | None = None,
    draws: int = DRAWS,
    seed: int = SEED,
    fitted: Fitted | None = None,
    units: tuple[Record, ...] = (),
) -> Assessment:
    """Judge whether the battery fits the outing.

    fitted : the record's model where it is already at hand. units : records of a bank's units (one a branch,
    or one a unit) where they differ. Everything is a function of the arguments.
    """
    batch = run_batch(record, outing, draws, seed, fitted or fit_record(record), units)
    return judge(batch, climate, draws, seed)


def judge(batch: Batch, climate: Climate | None, draws: int, seed: int, bench: Bench | None = None) -> Assessment:
    """All checks of a batch that was run already.

    draws, seed : as the answer is to name them. bench : of the batch's record, where it is already at hand.
    """
    record, outing = batch.record, batch.outing
    bench = bench or bench_of(record, batch.fitted)
    envelope = bench.envelope
    need, found = need_of(batch), coverage(batch)
    bank = judge_bank(batch, envelope)
    peak = bank.peaks[bank.hardest] if bank else find_peak(batch, envelope, need)
    wiring = judge_cable(batch, need, climate)
    winter = None
    if climate is not None:
        winter = work_out_bank_winter(batch, climate, seed, found.need_c)
    branch = need_of(batch, bank.hardest) if bank else need
    checks = _checks(batch, bench, branch, found, peak, bank, wiring, winter)
    heat = next((check for check in checks if check.id == "terminal_heat"), None)
    own = bank.envelopes[bank.hardest] if bank else envelope
    links = rank_links(batch, own, peak, branch.trace, wiring, heat)
    verdict, deciding = overall(checks, outing.questions)
    return Assessment(record, outing, climate, draws, seed, batch.fitted, bench, batch, need, peak, found,
                      runtime_of(batch), wiring, links, bank, winter, checks, verdict, deciding)  # fmt: skip


def _checks(
    batch: Batch,
    bench: Bench,
    branch: Need,
    found: Coverage,
    peak: Peak,
    bank: BankResult | None,
    wiring: WiringResult | None,
    winter: Winter | None,
) -> tuple[Check, ...]:
    asked = batch.outing.questions or ()
    carried = bank is None and beyond_rate(batch) and carried_as_one(batch, bench.envelope, branch)
    energy = energy_check(batch, found, carried)
    possible = (
        energy,
        reserve_check(batch, found, energy) or _missing("reserve", asked),
        peak_check(batch, peak),
        heat_check(batch, bench, branch),
        inverter_check(batch) or _missing("inverter", asked),
        wiring_check(batch, wiring, "wiring" in asked),
        winter_check(winter, "winter_charging" in asked),
        bank_check(batch, bank, "bank" in asked),
    )
    return tuple(_without_claim(check) for check in possible if check is not None)


def _without_claim(check: Check) -> Check:
    """A claimed load never carries a good verdict."""
    if check.evidence != "claimed" or check.verdict not in GOOD:
        return check
    return replace(
        check, verdict=NOT_PROVEN, reason=Told("claimed_load"), limit=None, settled_by=Told("buyer_log")
    )


def _missing(name: str, asked: tuple[str, ...]) -> Check | None:
    """A question that was named without input is not proven and says what to enter."""
    if name not in asked:
        return None
    return Check(name, NOT_PROVEN, "unknown", Told(f"{name}_missing"), settled_by=Told(f"enter_{name}"))


def runtime_of(batch: Batch) -> Runtime:
    """Runtimes of the batch, and what the centre had used at the outing's end or at its own."""
    times = batch.runtime_s()
    nominal, draws = float(times[0]), times[batch.draws]
    p50, p90 = (float(np.quantile(draws, q, method="lower")) if len(draws) else nominal for q in (0.5, 0.9))
    run = batch.run
    charge, energy, least, kelvin = (
        run.mark_charge_c[0],
        run.mark_energy_j[0],
        run.min_v[0],
        run.mark_temp_k[0],
    )
    # an inverter or a trip came before the battery's end
    if nominal < min(float(run.end_s[0]), batch.duration_s):
        charge, energy, least, kelvin = used_until(batch, nominal)
    completes = float((draws >= batch.duration_s - 1e-6).mean()) if len(draws) else float("nan")
    return Runtime(
        nominal,
        lowest_tenth(draws) if len(draws) else nominal,
        p50,
        p90,
        batch.duration_s,
        batch.ended_by(),
        completes,
        float(charge),
        float(energy),
        float(least),
        float(kelvin),
    )
