import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from planner.winter.ledger import CHARGE, DAYS_DARK, DRAWN, TAKEN, UNSERVED, Ledger

Q = 103.4 * 3600.0
WARM_K = 293.15
ANY_BAND_K = (200.0, 400.0)


def keep(charge_c, use_a, offered_a=0.0, is_open=True, accept_a=np.inf):
    """The books after as many hours as there are uses, all else the same in each; one battery."""
    hours = len(use_a)
    ledger = Ledger.opened(Q, np.array([[charge_c]]))
    ledger.keep(
        np.full((hours, 1), offered_a), np.array(use_a, dtype=float), np.full((hours, 1, 1), is_open),
        np.full((hours, 1, 1), WARM_K), ((*ANY_BAND_K, accept_a),), None,
    )  # fmt: skip
    return ledger.books[:, 0, 0]


def book(soc, offered=0.0, use=0.0, is_open=True, accept=np.inf):
    return keep(soc * Q, [use], offered, is_open, accept)


def test_with_room_the_source_feeds_the_use_first_and_charges_with_the_rest():
    books = book(0.2, offered=10.0, use=4.0)
    assert books[TAKEN] == pytest.approx(0.99 * 6.0 * 3600.0)
    assert books[DRAWN] == 0.0


def test_with_the_gate_shut_the_battery_carries_the_use_although_a_source_is_there():
    books = book(0.2, offered=10.0, use=4.0, is_open=False)
    assert (books[TAKEN], books[DRAWN]) == (0.0, pytest.approx(4.0 * 3600.0))


def test_the_current_allowed_at_this_temperature_limits_the_charge():
    assert book(0.2, offered=10.0, accept=2.5)[TAKEN] == pytest.approx(0.99 * 2.5 * 3600.0)


def test_an_empty_battery_lacks_what_it_cannot_give_and_the_day_is_dark():
    first_day, second_day = [3.0] + 23 * [0.0], 24 * [0.0]
    books = keep(3600.0, first_day)
    assert books[UNSERVED] == pytest.approx(2.0 * 3600.0)
    assert books[DAYS_DARK] == 1.0
    assert keep(3600.0, first_day + second_day)[DAYS_DARK] == 1.0  # a day without lack after it


@pytest.mark.parametrize("soc", [0.5, 0.93, 0.96, 0.985, 0.999])
def test_the_taper_is_the_exact_solution_of_its_rate_equation(soc):
    # d(room)/dt = -0.99 min(30 A, room / (0.99 x 900 s)): the current falls once 900 s would fill the room.
    def rate(_, room):
        return -np.minimum(0.99 * 30.0, room / 900.0)

    run = solve_ivp(rate, (0.0, 3600.0), [(1.0 - soc) * Q], rtol=1e-10, atol=1e-6, max_step=20.0)
    filled = (1.0 - soc) * Q - run.y[0, -1]
    assert book(soc, offered=30.0)[TAKEN] == pytest.approx(filled, rel=1e-5)  # the kink costs the solver


@given(st.floats(0.0, 1.0), st.floats(0.0, 200.0), st.floats(0.0, 200.0), st.booleans())
def test_charge_stays_between_empty_and_full_and_the_books_close(soc, offered, use, is_open):
    books = book(soc, offered, use, is_open)
    assert 0.0 <= books[CHARGE] <= Q * (1.0 + 1e-12)
    balance = soc * Q + books[TAKEN] - books[DRAWN]
    assert books[CHARGE] == pytest.approx(balance, abs=1e-9 * Q)


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.floats(0.0, 100.0), st.floats(0.0, 50.0))
def test_more_charge_before_an_hour_is_never_less_after_it(first, second, offered, use):
    less, more = sorted((first, second))
    assert book(less, offered, use)[CHARGE] <= book(more, offered, use)[CHARGE] + 1e-9 * Q


def test_the_caller_keeps_its_own_array():
    start = np.array([[0.5 * Q]])
    ledger = Ledger.opened(Q, start)
    ledger.keep(
        np.zeros((1, 1)), np.array([5.0]), np.ones((1, 1, 1), bool), np.full((1, 1, 1), WARM_K), (), None
    )
    assert ledger.books[CHARGE, 0, 0] < start[0, 0] == 0.5 * Q
