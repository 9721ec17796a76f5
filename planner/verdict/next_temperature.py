"""Would a terminal reading or a try to charge cold cells settle it."""

from __future__ import annotations

import math

from planner.battery.terminals import PRIOR_TAU_S, TerminalModel
from planner.constants import SECONDS_PER_MINUTE, ZERO_CELSIUS_K
from planner.record.instrument import temperature_limit
from planner.record.schema import ColdChargeTest, Instrument, TerminalTest
from planner.verdict.assess import Assessment
from planner.verdict.bench_plan import charging_tried, probe_of, terminals_read
from planner.verdict.check import DOES_NOT_FIT, NOT_PROVEN, Told
from planner.verdict.energy import load_evidence
from planner.verdict.heat import hardest_rms_a
from planner.verdict.need import need_of
from planner.verdict.outcomes import Outcomes, between, either, normal, spread_over
from planner.verdict.proposal import Found, Proposal, judged_with, made_good, open_checks, pointless
from planner.verdict.winter_check import winter_unit
from planner.winter.judge import NO_CHARGE, NO_CHARGE_DARK

READ_MIN = (5, 10, 15, 20, 30, 45)  # minutes at which terminals are read, to a steady temperature (no source)
PASSING_RISE = 0.5  # of the room to the limit, where nothing tells what the terminals do (no source)
FAILING_RISE = 1.5
BETTER = (0.0, 1.0, 2.0)  # standard uncertainties below the reading at hand: the likeliest first
EXPOSURE = "cold_charging"  # the caution that goes when a unit is seen to refuse charge in the cold
STEP_K = 1.0  # charging is tried every kelvin
COLD_MIN, WARMING_MIN = 30 * 60, 10 * 60  # a day's soak and two legs; the warming leg alone (no source)


def terminal_test(base: Assessment) -> Found:
    """Terminal temperatures until they are steady."""
    if not open_checks(base, "terminal_heat"):
        return pointless("terminal", "heat_is_shown")
    trace = need_of(base.batch, base.bank.hardest if base.bank else None).trace
    rms = hardest_rms_a(trace)
    current = math.ceil(rms / 5.0 - 1e-9) * 5.0 if rms >= 20.0 else math.ceil(rms)
    times = [SECONDS_PER_MINUTE * minute for minute in READ_MIN]
    if any(trip.condemns(current, times[-1]) for trip in base.envelope.trips):
        return pointless("terminal", "trip_in_the_way")
    probe, model = probe_of(base.record), base.bench.terminals
    room_k = base.outing.terminal_limit_k - base.outing.ambient_k
    if model is None:
        tau = PRIOR_TAU_S
        at_rms = (current / rms) ** 2 if rms > 0.0 else 1.0
        rises = [PASSING_RISE * room_k * at_rms]
        poor = FAILING_RISE * room_k * at_rms
    else:
        tau, scale = model.tau_s, (current / model.current_a) ** 2
        rises = [model.rise_ss_k * scale * max(1.0 - k * model.u_rise_rel, 0.0) for k in BETTER]
        poor = model.rise_ss_k * scale * (1.0 + BETTER[-1] * model.u_rise_rel)
    for rise_k in rises:
        test = terminals_read(current, rise_k, tau, times, probe)
        after = judged_with(base, (test,))
        changes = made_good(base, after)
        if changes:
            failed = judged_with(base, (terminals_read(current, poor, tau, times, probe),)).verdict
            outcomes = _rises(base, model, test) if model is not None else either(after.verdict, failed, None)
            parts = {"current_a": current, "rms_a": rms, "rise_k": rise_k, "changes": changes, "failed": failed,
                     "passed": after.verdict, "limit_k": base.outing.terminal_limit_k}  # fmt: skip
            risk = (
                "low" if any(held.covers(current, times[-1]) for held in base.envelope.passes) else "medium"
            )
            return Proposal("terminal", "battery", (test,), current, times[-1], test.ambient_k, changes, after.verdict,
                            failed, READ_MIN[-1] + 30, risk, Told("terminals", parts), outcomes)  # fmt: skip
    claimed = load_evidence(base.batch) == "claimed"
    return pointless("terminal", "load_is_claimed" if claimed else "too_hot_by_any_reading")


def _rises(base: Assessment, model: TerminalModel, test: TerminalTest) -> Outcomes:
    """The answers over the rises that the reading at hand leaves likely."""
    rise_ss_k = model.rise_ss_k * (test.current_a / model.current_a) ** 2
    times = [seconds for seconds, _ in test.readings]

    def verdict_at(place: float) -> str:
        rise_k = rise_ss_k * math.exp(model.u_rise_rel * normal(place))
        read = terminals_read(test.current_a, rise_k, model.tau_s, times, test.at.instrument)
        return judged_with(base, (read,)).verdict

    return spread_over(verdict_at)


def cold_charge_tests(base: Assessment) -> list[Found]:
    """Both legs of the cold-charge step, and the warming leg alone."""
    both, one = "cold_charge", "cold_charge_warming"
    code = _no_winter(base)
    if code is not None:
        return [pointless(both, code), pointless(one, code)]
    warming = _tried(base, one, _warming_leg(base, None))
    if isinstance(warming, Proposal):
        return [warming, pointless(both, "warming_leg_is_enough")]
    whole = _tried(base, both, _both_legs(base))
    if isinstance(whole, Proposal):
        return [whole, pointless(one, "cooling_leg_needed")]
    return [
        pointless(both, _why_not(base, _both_legs(base))),
        pointless(one, _why_not(base, _warming_leg(base, None))),
    ]


def _no_winter(base: Assessment) -> str | None:
    """Why no cold-charge test is asked for, None where one may be."""
    if base.winter is None:
        return "no_climate"
    reason = base.winter.verdict.reason
    if open_checks(base, "winter_charging"):
        return "no_charger_stated" if reason == NO_CHARGE_DARK else None
    if reason in NO_CHARGE:
        return "same_either_way"
    gate_matters = float(base.winter.outlook.given.hours_blocked[1, 0]) > 0.0
    return "same_either_way" if gate_matters else "never_cold"


def _both_legs(base: Assessment) -> tuple[ColdChargeTest, ...]:
    """A unit that blocks just above the charge limit and resumes just above that, as far as its readings allow."""
    probe = probe_of(base.record)
    limit = winter_unit(base.record, base.fitted).charge_min_k
    blocked = _grid_up(limit + _error_k(probe))
    opened = _reading(base, "cooling", "accepted")
    accepted = blocked + STEP_K if opened is None else min(blocked + STEP_K, opened)
    if accepted <= blocked:
        return ()  # the unit let charge in at or below the temperature at which it would have to refuse it
    cooling = (
        charging_tried("cooling", blocked, "blocked", probe),
        charging_tried("cooling", accepted, "accepted", probe),
    )
    return (*cooling, *_warming_leg(base, accepted))


def _warming_leg(base: Assessment, above_k: float | None) -> tuple[ColdChargeTest, ...]:
    """Refused once more just above where it blocks, taken again a kelvin on.

    above_k : the cooling reading it starts from; the record's own lowest accepted one when None.
    """
    probe = probe_of(base.record)
    start = above_k if above_k is not None else _reading(base, "cooling", "accepted")
    if start is None:
        return ()
    refused = max(start, _reading(base, "warming", "blocked") or start)
    opened = _reading(base, "warming", "accepted")
    accepted = refused + STEP_K if opened is None else min(refused + STEP_K, opened)
    if accepted <= refused:
        return ()
    return (
        charging_tried("warming", refused, "blocked", probe),
        charging_tried("warming", accepted, "accepted", probe),
    )


def _reading(base: Assessment, direction: str, charging: str) -> float | None:
    """The reading of a leg that bounds its threshold: highest blocked, lowest accepted."""
    tests = base.record.cold_charge_tests
    found = [test.at.cell_k for test in tests if test.direction == direction and test.charging == charging]
    return (max(found) if charging == "blocked" else min(found)) if found else None


def _tried(base: Assessment, name: str, tests: tuple[ColdChargeTest, ...]) -> Found:
    if not tests:
        return pointless(name, "takes_charge_there")
    after = judged_with(base, tests)
    changes = made_good(base, after)
    if not changes and not _settles(base, after):
        return pointless(name, "winter_bad_either_way")
    changes = changes or (EXPOSURE,)
    failed = judged_with(base, _poor(base, name, tests)).verdict
    parts = {"blocked_k": tests[0].at.cell_k, "accepted_k": tests[-1].at.cell_k, "changes": changes,
             "passed": after.verdict, "failed": failed}  # fmt: skip
    warming = name == "cold_charge_warming"
    code = "warming_leg" if warming else "both_legs"
    code += "_tell_harm" if changes == (EXPOSURE,) else ""
    risk = "low" if warming else "medium"
    assert base.winter is not None
    gate = base.winter.gate
    share = between(tests[-1].at.cell_k, gate.resume_low_k, gate.resume_high_k) if warming else None
    outcomes = either(after.verdict, failed, share)
    return Proposal(name, "battery", tests, None, None, tests[0].at.cell_k, changes, after.verdict, failed,
                    WARMING_MIN if warming else COLD_MIN, risk, Told(code, parts), outcomes)  # fmt: skip


def _settles(base: Assessment, after: Assessment) -> bool:
    """Whether it turns possible harm that nobody sees into charging that is known to be refused.

    The winter is not made good by it, since a battery that refuses charge runs dark, but what to do about it is another
    matter: warmth is then no safeguard against harm but a way to get charge.
    """
    assert base.winter is not None and after.winter is not None
    was, now = base.winter, after.winter
    exposed = float(was.outlook.given.exposed_hours[1, 0]) > 0.0 and was.verdict.verdict == NOT_PROVEN
    return (
        exposed and float(now.outlook.given.exposed_hours[1, 0]) == 0.0 and now.verdict.verdict != NOT_PROVEN
    )


def _poor(base: Assessment, name: str, tests: tuple[ColdChargeTest, ...]) -> tuple[ColdChargeTest, ...]:
    """The outcome nobody hopes for: charge let into cells below the limit, or taken again only very late."""
    probe = probe_of(base.record)
    if name == "cold_charge":
        limit = winter_unit(base.record, base.fitted).charge_min_k
        return (charging_tried("cooling", limit - 2.0 * _error_k(probe) - STEP_K, "accepted", probe),)
    assert base.winter is not None
    late = max(base.winter.gate.resume_high_k - _error_k(probe), tests[-1].at.cell_k)
    return (
        charging_tried("warming", late - STEP_K, "blocked", probe),
        charging_tried("warming", late, "accepted", probe),
    )


def _why_not(base: Assessment, tests: tuple[ColdChargeTest, ...]) -> str:
    assert base.winter is not None
    if base.winter.verdict.verdict == DOES_NOT_FIT:
        return "winter_" + base.winter.verdict.reason
    return "winter_bad_either_way" if tests else "takes_charge_there"


def _error_k(probe: Instrument | None) -> float:
    return temperature_limit(probe).half_width


def _grid_up(kelvin: float) -> float:
    """Up to a tenth of a degree."""
    return ZERO_CELSIUS_K + math.ceil((kelvin - ZERO_CELSIUS_K) * 10.0 - 1e-6) / 10.0
