"""How likely a test leaves a firm answer. Shares worked by hand; each answer is the engine's. Invented units."""

from __future__ import annotations

import pytest

from planner.battery.envelope import build_envelope
from planner.explain.next_test_sentences import firm_told
from planner.verdict.assess import assess
from planner.verdict.bench_plan import BENCH_K, held
from planner.verdict.check import DOES_NOT_FIT, FITS, NOT_PROVEN
from planner.verdict.next_charge import capacity_tests
from planner.verdict.next_current import current_tests
from planner.verdict.outcomes import BETWEEN, DRAWN, between, either, holds, spread_over
from planner.verdict.proposal import Proposal
from tests.verdict.invented_bench import AGAINST_THE_STREAM, HALF_SIZE, STURDY, read_need, read_unit
from tests.verdict.test_next_test import DRAWS, steady


def proposal(found: list) -> Proposal:
    return next(one for one in found if isinstance(one, Proposal))


def test_an_opening_lies_alike_likely_anywhere_between_what_was_held_and_what_tripped(tmp_path):
    # shown for 21 min: 100 A less 0.5 %; tripped within it: 180 A. 105 A: (180 - 105) / (180 - 99.5)
    found = assess(read_unit(tmp_path, STURDY), read_need(tmp_path, AGAINST_THE_STREAM), draws=DRAWS)
    hold = proposal(current_tests(found))
    assert hold.outcomes.basis == BETWEEN
    assert [one.share for one in hold.outcomes.each] == pytest.approx([75.0 / 80.5, 5.5 / 80.5])
    assert [one.verdict for one in hold.outcomes.each] == [hold.passed, hold.failed]


def test_the_nearest_trip_changed_by_its_meters_error_changes_the_share(tmp_path):
    # 180 A read 2 % + 0.5 A less: 175.9 A
    outing = read_need(tmp_path, AGAINST_THE_STREAM)
    less = STURDY.replace('"180 A"', '"175.9 A"')
    hold = proposal(current_tests(assess(read_unit(tmp_path, less), outing, draws=DRAWS)))
    assert hold.outcomes.each[0].share == pytest.approx(70.9 / 76.4)


def test_a_pull_that_no_trip_bounds_has_no_share(tmp_path):
    # the ramp of the unit of half size opened at 141 A after 7 s: nothing is known of 6 s, much of 60 s
    envelope = build_envelope(read_unit(tmp_path, HALF_SIZE))
    short, long = held(125.0, 6.0, BENCH_K, None), held(75.0, 60.0, BENCH_K, None)
    assert holds(envelope, [short]) is None
    assert holds(envelope, [short, long]) is None
    assert holds(envelope, [long]) == pytest.approx(
        (141.0 - 75.0) / (141.0 - 49.75), abs=1e-4
    )  # its mean is 49.997 A


@pytest.mark.parametrize(("reading", "share"), [(271.0, 0.0), (273.0, 0.25), (276.0, 1.0), (280.0, 1.0)])
def test_a_threshold_lies_alike_likely_anywhere_in_its_bracket(reading, share):
    assert between(reading, 272.0, 276.0) == pytest.approx(share)


def test_where_nothing_tells_both_ends_are_given():
    assert either(FITS, NOT_PROVEN, None).firm() == (0.0, 1.0)
    assert either(FITS, DOES_NOT_FIT, None).firm() == (1.0, 1.0)
    assert either(FITS, NOT_PROVEN, 0.7).firm() == pytest.approx((0.7, 0.7))
    assert either(NOT_PROVEN, None, None).firm() == (0.0, 0.0)


def test_a_reading_is_asked_at_five_equally_likely_places():
    found = spread_over(lambda place: FITS if place > 0.6 else NOT_PROVEN)
    assert found.firm() == pytest.approx((0.4, 0.4))
    assert sum(one.share for one in found.each) == pytest.approx(1.0)


def test_a_cold_capacity_has_the_answers_of_the_charges_it_may_read(tmp_path):
    unread = STURDY.replace('charge = "86.1 Ah"\ncutoff_voltage = "10.0 V"\ntemperature = "-10 degC"',
                            'charge = "103.4 Ah"\ncutoff_voltage = "10.0 V"\ntemperature = "25 degC"')  # fmt: skip
    outing = read_need(tmp_path, steady("8 A", "10.6 h", ambient="-12 degC"))
    cold = proposal(capacity_tests(assess(read_unit(tmp_path, unread), outing, draws=DRAWS)))
    found = [one.verdict for one in cold.outcomes.each]
    assert cold.outcomes.basis == DRAWN
    assert (found[0], cold.passed in found) == (cold.failed, True)
    assert len(set(found)) > 1  # the charge read decides


@pytest.mark.parametrize(
    ("outcomes", "words"),
    [
        (either(FITS, DOES_NOT_FIT, None), "firm; after this test it is, however"),
        (either(NOT_PROVEN, NOT_PROVEN, 0.4), "other questions stay open"),
        (either(NOT_PROVEN, DOES_NOT_FIT, None), "if it comes out badly. How likely that is, nothing"),
        (either(FITS, NOT_PROVEN, 0.85), "about 4 in 5. That chance is a guess: the place where the unit"),
        (either(FITS, NOT_PROVEN, 0.85, DRAWN), "rests on the spreads this forecast assumes"),
    ],
)
def test_the_words_say_how_likely_and_that_it_is_a_guess(outcomes, words):
    assert words in firm_told(outcomes, NOT_PROVEN)
