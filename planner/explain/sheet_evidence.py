"""The evidence of a sheet as tables: questions with their classes, claims beside measurements, what was entered."""

from __future__ import annotations

from dataclasses import dataclass

from planner.constants import SECONDS_PER_HOUR, ZERO_CELSIUS_K
from planner.explain.answer_text import is_asked
from planner.explain.audit_answer import AGREES, STANDARD_UNITS, claim_json, pooled_line
from planner.explain.check_words import TITLES
from planner.explain.claim_names import claim_name
from planner.explain.evidence_rule import how_far_a_test_speaks
from planner.explain.figures import NONE, figure_text, number_text, unit_sign
from planner.explain.reasoning import COUNTED, MEASURED, NEEDED, chains, step_text
from planner.explain.words import exact_time
from planner.install.conductor import shown_size
from planner.outing.schema import Outing
from planner.record.gaps import missing_tests
from planner.verdict.assess import Assessment
from planner.verdict.check import weakest
from planner.verdict.claims import ClaimCheck, check_claims
from planner.verdict.pooled import pool

LETTERS = {
    "measured": "M", "logged": "L", "derived": "D", "stated": "B", "handbook": "H", "claimed": "C", "unknown": "U",
}  # fmt: skip
CLASSES = (
    "Classes, strongest first: M measured on this unit, L logged by the buyer, D derived from M or L, B stated by the "
    "buyer, H handbook, C claimed by a label or seller, U unknown. A question has the weakest class that decides it; "
    "a load out of a handbook counts as B, as the buyer chose it. "
    "C and U never carry a good verdict."
)


@dataclass(frozen=True, slots=True)
class Table:
    """A table of texts. shares : relative widths of the columns. notes : below it."""

    heading: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    shares: tuple[int, ...]
    notes: tuple[str, ...] = ()


def evidence_tables(assessment: Assessment) -> tuple[Table, ...]:
    """The tables of the evidence page, in order."""
    return (_questions(assessment), _origins(assessment), _claims(assessment), _inputs(assessment))


def class_of(evidence: str) -> str:
    """An evidence class as a letter and a word."""
    return f"{LETTERS[evidence]} {evidence}"


def _questions(assessment: Assessment) -> Table:
    heads = ("Question", "Verdict", "Class", "Needed", "Counted on", "In the middle", "Room")
    rows = []
    for check in assessment.checks:
        aside = "" if is_asked(assessment, check) else " (not asked)"
        numbers = (check.need, check.capability, check.capability_centre, check.margin)
        rows.append((TITLES[check.id] + aside, check.verdict, class_of(check.evidence), *map(number_text, numbers)))
    decides = weakest(check.evidence for check in assessment.deciding)
    notes = (f"Weakest class that decides: {class_of(decides)}. {CLASSES}", how_far_a_test_speaks())
    return Table("Question by question", heads, tuple(rows), (22, 17, 13, 11, 13, 13, 11), notes)


def _origins(assessment: Assessment) -> Table:
    heads = ("Question", "Measured on the bench", "Needed, from", "Counted on, by")
    rows: list[tuple[str, ...]] = []
    before: list[str] = []
    for chain in chains(assessment):
        if not is_asked(assessment, chain.check):
            continue
        cells = ["; ".join(map(step_text, chain.of(what))) or NONE for what in (MEASURED, NEEDED, COUNTED)]
        again = before and cells[0] != NONE and cells[0] == before[0]
        rows.append((TITLES[chain.check.id], "as above" if again else cells[0], *cells[1:]))
        before = cells
    return Table("Where each number comes from", heads, tuple(rows), (14, 36, 21, 29))


def _claims(assessment: Assessment) -> Table:
    record = assessment.record
    rows = tuple(_claim(claim) for claim in check_claims(record))
    pooled = pool(record)
    notes = [f"Units of this kind: {pooled_line(pooled)}."] if pooled is not None else []
    gaps = missing_tests(record)
    notes += [f"Missing from the record: {' '.join(gaps)}"] if gaps else []
    heads = ("Claim", "Label or seller says", "We measured (k = 2)", "Measurement", "Tests")
    return Table("Claims beside measurements", heads, rows, (22, 18, 22, 20, 26), tuple(notes))


def _claim(claim: ClaimCheck) -> tuple[str, ...]:
    told, name = claim_json(claim), claim_name(claim.key, claim.duration_s)
    claimed, measured = figure_text(told["claimed"]), figure_text(told["measured"])
    if claim.measured is None:
        return name, claimed, NONE, "not tested", NONE
    u = told["expanded_uncertainty"]
    if u is not None:
        unit = claim.claimed.unit
        measured += f" ± {u:.2g} {unit_sign(STANDARD_UNITS.get(unit, unit))}"
    says = AGREES[claim.agrees]
    if claim.agrees is False and claim.trip_s is not None:
        says += f": opened after {exact_time(claim.trip_s)}"
    return name, claimed, measured, says, ", ".join(claim.by)


def _inputs(assessment: Assessment) -> Table:
    outing = assessment.outing
    rows = [
        (f"load.{number}: {load.name}", load.kind, class_of(load.evidence), f"{100.0 * load.spread:.3g} %")
        for number, load in enumerate(outing.loads, start=1)
    ]
    heads = ("Load", "Entered as", "Class", "Spread (one standard deviation)")
    return Table("What was entered", heads, tuple(rows), (34, 18, 18, 30), (_plan(outing),))


def _plan(outing: Outing) -> str:
    """The outing's own figures in one line, full digits."""
    told = [
        f"Duration {outing.duration_s / SECONDS_PER_HOUR:.4g} h",
        f"air {_celsius(outing.ambient_k)}",
        f"battery inside at the start {_celsius(outing.cell_k)}",
        f"charge at the start {100.0 * outing.start_soc:.4g} % of full",
    ]
    if outing.get_home is not None:
        told.append(f"way home {outing.get_home.distance_m / 1000.0:.4g} km")
    elif outing.reserve_fraction is not None:
        told.append(f"reserve {100.0 * outing.reserve_fraction:.4g} % of usable charge")
    if outing.wiring is not None:
        told.append(f"cable {shown_size(outing.wiring.size)}, {outing.wiring.length_m:.4g} m one way")
    if outing.bank is not None:
        told.append(f"bank {outing.bank.parallel} in parallel, {outing.bank.series} in series")
    return "; ".join(told) + "."


def _celsius(kelvin: float) -> str:
    return f"{kelvin - ZERO_CELSIUS_K:.1f} °C"
