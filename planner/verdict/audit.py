"""The audit of a record: its claims, the replay of its tests, what it costs, what to ask its tester."""

from __future__ import annotations

from dataclasses import dataclass

from planner.battery.fit import Fitted, fit_record
from planner.battery.full_discharge import full_discharges
from planner.battery.identify import Untold, hardly_told, untold_pairs
from planner.constants import NOMINAL_UNIT_V
from planner.record.gaps import missing_tests
from planner.record.schema import Record
from planner.verdict.claims import ClaimCheck, check_claims
from planner.verdict.conflicts import Question, questions_of
from planner.verdict.pooled import Pooled, pool
from planner.verdict.replay import Replay, replay_record
from planner.verdict.residuals import Residual, residuals_of


@dataclass(frozen=True, slots=True)
class Price:
    """Price of a joule [currency/J]: of the discharge that gave most, of each, and by the label's own figure.

    label_is_claimed : the label states an energy; else its amp-hours times the nominal 12.8 V are taken.
    """

    price: float
    currency: str | None
    per_measured_j: float | None
    per_label_j: float | None
    label_is_claimed: bool
    by_test: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Audit:
    """Everything the audit of one record found.

    hardly_told : parameters of the model that no test tells. untold : pairs that the tests cannot tell apart.
    """

    record: Record
    claims: tuple[ClaimCheck, ...]
    replay: Replay
    pooled: Pooled | None
    price: Price | None
    questions: tuple[Question, ...]
    gaps: tuple[str, ...]
    hardly_told: tuple[str, ...]
    untold: tuple[Untold, ...]
    residuals: tuple[Residual, ...]


def audit(record: Record, fitted: Fitted | None = None) -> Audit:
    """Set every claim against its measurement, replay every test, ask about what disagrees.

    fitted : the record's model where it is at hand.
    """
    model = fitted or fit_record(record)
    return Audit(
        record, check_claims(record), replay_record(record, model), pool(record), price_of(record),
        questions_of(record), missing_tests(record), hardly_told(model), untold_pairs(model),
        residuals_of(record, model),
    )  # fmt: skip


def price_of(record: Record) -> Price | None:
    """Price per joule; None without a price. No price per cycle: cycles were not tested."""
    if record.price is None:
        return None
    price = record.price
    read = [
        (test.at.place, price / test.energy_j)
        for test in full_discharges(record)
        if test.energy_j is not None
    ]
    claims = record.claims
    label_j = claims.energy_j
    if label_j is None and claims.capacity_c is not None:
        label_j = claims.capacity_c * NOMINAL_UNIT_V
    return Price(
        price, record.currency, min((per for _, per in read), default=None),
        None if label_j is None else price / label_j, claims.energy_j is not None, tuple(read),
    )  # fmt: skip
