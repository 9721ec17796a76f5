"""From measurement to verdict: for each question what was measured, needed, counted on and left, each with its origin.

An origin is a place in a file, as the readers name it ("capacity_test.1", "load.2"), behind the unit's name where the
bank names several, or the rule that made the number.
Nothing is worked out here but the difference that a check states itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from planner.battery.current_evidence import Pass, Trip
from planner.battery.envelope import build_envelope
from planner.battery.full_discharge import full_discharges
from planner.constants import SECONDS_PER_HOUR, SECONDS_PER_MINUTE
from planner.explain.check_words import CHECK_WORDS
from planner.explain.figures import NONE, amount, number_text
from planner.record.schema import Record
from planner.verdict.assess import Assessment
from planner.verdict.check import Amount, Check

MEASURED, NEEDED, COUNTED, ROOM = "measured", "needed", "counted on", "room"


@dataclass(frozen=True, slots=True)
class Step:
    """One step. what : MEASURED, NEEDED, COUNTED or ROOM. origin : where it comes from. amounts : its numbers."""

    what: str
    origin: str
    amounts: tuple[Amount, ...] = ()
    said: str = ""


@dataclass(frozen=True, slots=True)
class Chain:
    """The steps of one question, measurement first; its verdict and evidence class end it."""

    check: Check
    steps: tuple[Step, ...]

    def of(self, what: str) -> tuple[Step, ...]:
        """The steps of one sort."""
        return tuple(step for step in self.steps if step.what == what)


def chains(assessment: Assessment) -> tuple[Chain, ...]:
    """A chain for each check of the answer, in its order."""
    return tuple(Chain(check, tuple(_steps(assessment, check))) for check in assessment.checks)


def steps_json(chain: Chain) -> dict[str, Any]:
    """A chain as plain values."""
    return {
        "check": chain.check.id,
        "steps": [
            {
                "what": step.what,
                "from": step.origin,
                "amounts": [amount(one) for one in step.amounts],
                "said": step.said,
            }
            for step in chain.steps
        ],
        "verdict": chain.check.verdict,
        "evidence": chain.check.evidence,
    }


def numbers_text(step: Step) -> str:
    """One step's numbers and what is said with them, empty where there are none."""
    told = [found for found in map(_number, step.amounts) if found != NONE]
    return ", ".join([*told, step.said] if step.said else told)


def _number(one: Amount) -> str:
    """A number as it is told, a time under an hour in minutes or seconds."""
    if one.unit != "h" or one.value_si >= SECONDS_PER_HOUR:
        return number_text(one)
    short = one.value_si < 2.0 * SECONDS_PER_MINUTE
    return f"{one.value_si:.4g} s" if short else f"{one.value_si / SECONDS_PER_MINUTE:.4g} min"


def step_text(step: Step) -> str:
    """One step: its numbers, and where they come from."""
    told = numbers_text(step)
    if step.what == MEASURED:
        return f"{step.origin}: {told}"
    return f"{told} ({step.origin})" if told else step.origin


def chain_text(chain: Chain) -> str:
    """The chain in one line, the verdict last."""
    measured = "; ".join(map(step_text, chain.of(MEASURED))) or "no test"
    told = [
        f"measured {measured}",
        *(f"{step.what} {step_text(step)}" for step in chain.steps if step.what != MEASURED),
    ]
    return f"{' > '.join(told)} > {chain.check.verdict} [{chain.check.evidence}]"


def _steps(assessment: Assessment, check: Check) -> Iterator[Step]:
    yield from MEASUREMENTS[check.id](assessment, check)
    needed = (check.need,) if check.need is not None else ()
    yield Step(NEEDED, _need_origin(assessment, check), needed)
    if check.capability is not None:
        yield Step(COUNTED, CHECK_WORDS[check.id].rule, (check.capability,))
    if check.margin is not None:
        yield Step(ROOM, "counted on less needed", (check.margin,))


def _need_origin(assessment: Assessment, check: Check) -> str:
    if check.id == "winter_charging":
        return "climate"
    if check.id == "inverter":
        return ", ".join(
            f"load.{n}" for n, load in enumerate(assessment.outing.loads, 1) if load.kind == "inverter"
        )
    count = len(assessment.outing.loads)
    loads = f"load.1 to load.{count}" if count > 1 else "load.1"
    kept = {
        "reserve": "get_home" if assessment.outing.get_home is not None else "reserve",
        "wiring": "wiring",
    }
    return f"{loads}, {kept[check.id]}" if check.id in kept else loads


def _tested(assessment: Assessment) -> list[tuple[str, Record]]:
    """What was tested of what the answer stands on: each different unit once, named where the bank names several."""
    units = assessment.batch.different_units
    if units == (assessment.record,):
        return [("", assessment.record)]
    return [(f"{unit.name}: ", unit) for unit in units]


def _discharges(assessment: Assessment, _: Check) -> Iterator[Step]:
    for name, record in _tested(assessment):
        for test in full_discharges(record):
            found = (
                Amount(test.charge_c, "Ah"),
                Amount(test.mean_current_a, "A"),
                Amount(test.at.cell_k, "degC"),
            )
            yield Step(MEASURED, name + test.at.place, found)


def _holds(assessment: Assessment, check: Check) -> Iterator[Step]:
    by = check.reason.parts.get("by")
    if isinstance(by, Pass | Trip):
        said = "switched off" if isinstance(by, Trip) else "held"
        found = (Amount(by.current_a, "A"), Amount(by.duration_s, "h"))
        yield Step(MEASURED, _hardest(assessment) + by.source, found, said)


def _hardest(assessment: Assessment) -> str:
    """The name of the unit whose tests decide the highest current of a bank."""
    bank, tested = assessment.bank, _tested(assessment)
    if bank is None or len(tested) == 1:
        return tested[0][0]
    own = bank.envelopes[bank.hardest]
    return next(name for name, record in tested if build_envelope(record) == own)


def _terminals(assessment: Assessment, _: Check) -> Iterator[Step]:
    for name, record in _tested(assessment):
        for test in record.terminal_tests:
            hottest_k = max(reading_k for _, reading_k in test.readings)
            found = (Amount(test.current_a, "A"), Amount(hottest_k, "degC"))
            yield Step(MEASURED, name + test.at.place, found)
        for held in record.current_tests:
            if held.terminal_end_k is not None:
                found = (Amount(held.current_a, "A"), Amount(held.terminal_end_k, "degC"))
                yield Step(MEASURED, name + held.at.place, found)


def _cold_charges(assessment: Assessment, _: Check) -> Iterator[Step]:
    for test in assessment.record.cold_charge_tests:
        said = f"{test.charging} while {test.direction}"
        yield Step(MEASURED, test.at.place, (Amount(test.at.cell_k, "degC"),), said)


def _steps_of_current(assessment: Assessment, check: Check) -> Iterator[Step]:
    yield from _discharges(assessment, check)
    for name, record in _tested(assessment):
        for test in record.step_tests:
            yield Step(MEASURED, name + test.at.place, (), "resistance")


MEASUREMENTS: dict[str, Callable[[Assessment, Check], Iterator[Step]]] = {
    "energy": _discharges,
    "reserve": _discharges,
    "peak_current": _holds,
    "terminal_heat": _terminals,
    "inverter": _steps_of_current,
    "wiring": lambda _, __: iter(()),  # the cable is measured by nobody: its table is the handbook's
    "winter_charging": _cold_charges,
    "bank": _holds,
}
