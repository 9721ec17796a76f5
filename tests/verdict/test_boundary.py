"""The search for the last good step, on made-up verdicts whose boundary is known."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from planner.verdict.boundary import BOUNDARY, GOOD_EVERYWHERE, GOOD_NOWHERE, GOOD_TO_THE_END, find_boundary

FURTHER = (100, 300, 700)
NEARER = (-50, -200, -500)


@given(st.integers(-500, 699))
def test_a_single_change_is_found_to_the_step_from_either_side_of_it(last_good):
    found = find_boundary(lambda step: step <= last_good, FURTHER, NEARER)
    assert (found.kind, found.inside, found.outside) == (BOUNDARY, last_good, last_good + 1)
    assert found.monotone


def test_each_scan_step_and_each_halving_is_one_try():
    tried = []

    def good(step: int) -> bool:
        tried.append(step)
        return step <= 123

    find_boundary(good, FURTHER, NEARER)
    # present, three of the scan (the present asked for twice), and log2(200) halvings of 100 … 300
    assert len(set(tried)) == 4 + 8
    assert set(tried) >= {0, *FURTHER}


def test_good_to_the_end_is_no_boundary():
    found = find_boundary(lambda step: True, FURTHER, NEARER)
    assert (found.kind, found.inside, found.searched) == (GOOD_EVERYWHERE, None, (0, 700))


def test_good_nowhere_has_looked_on_both_sides():
    found = find_boundary(lambda step: False, FURTHER, NEARER)
    assert (found.kind, found.searched) == (GOOD_NOWHERE, (-500, 700))


def test_the_first_change_outwards_is_taken_and_a_second_one_is_told():
    found = find_boundary(lambda step: step <= 40 or step >= 650, FURTHER, NEARER)
    assert (found.inside, found.outside, found.monotone) == (40, 41, False)


def test_what_is_good_only_further_on_is_found_there():
    """As a start that is too hot, and good when colder."""
    found = find_boundary(lambda step: 250 <= step <= 600, FURTHER, NEARER)
    assert (found.kind, found.inside, found.outside, found.monotone) == (BOUNDARY, 600, 601, False)


def test_no_room_to_search_leaves_the_present_value_alone():
    assert find_boundary(lambda step: True, (), ()).kind == GOOD_EVERYWHERE
    assert find_boundary(lambda step: False, (), ()).kind == GOOD_NOWHERE


def test_good_only_from_some_step_on_to_the_end_is_no_boundary_either():
    found = find_boundary(lambda step: step >= 250, FURTHER, NEARER)
    assert (found.kind, found.inside) == (GOOD_TO_THE_END, None)
