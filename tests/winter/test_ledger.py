import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from planner.winter.ledger import Ledger

Q = 103.4 * 3600.0
OPEN = np.array([True])


def book(soc, offered=0.0, use=0.0, is_open=OPEN, accept=np.inf):
    ledger = Ledger(Q, np.array([soc * Q]))
    ledger.hour(offered, use, is_open, accept)
    return ledger


def test_with_room_the_source_feeds_the_use_first_and_charges_with_the_rest():
    ledger = book(0.2, offered=10.0, use=4.0)
    assert ledger.taken_c[0] == pytest.approx(0.99 * 6.0 * 3600.0)
    assert ledger.drawn_c[0] == 0.0


def test_with_the_gate_shut_the_battery_carries_the_use_although_a_source_is_there():
    ledger = book(0.2, offered=10.0, use=4.0, is_open=~OPEN)
    assert (ledger.taken_c[0], ledger.drawn_c[0]) == (0.0, pytest.approx(4.0 * 3600.0))


def test_the_current_allowed_at_this_temperature_limits_the_charge():
    assert book(0.2, offered=10.0, accept=2.5).taken_c[0] == pytest.approx(0.99 * 2.5 * 3600.0)


def test_an_empty_battery_lacks_what_it_cannot_give_and_the_day_is_dark():
    ledger = Ledger(Q, np.array([1.0 * 3600.0]))
    ledger.quiet_hour(3.0)
    ledger.end_day()
    assert ledger.unserved_c[0] == pytest.approx(2.0 * 3600.0)
    assert ledger.days_dark[0] == 1.0
    ledger.end_day()
    assert ledger.days_dark[0] == 1.0  # a day without lack after it


@pytest.mark.parametrize("soc", [0.5, 0.93, 0.96, 0.985, 0.999])
def test_the_taper_is_the_exact_solution_of_its_rate_equation(soc):
    # d(room)/dt = -0.99 min(30 A, room / (0.99 x 900 s)): the current falls once 900 s would fill the room.
    def rate(_, room):
        return -np.minimum(0.99 * 30.0, room / 900.0)

    run = solve_ivp(rate, (0.0, 3600.0), [(1.0 - soc) * Q], rtol=1e-10, atol=1e-6, max_step=20.0)
    filled = (1.0 - soc) * Q - run.y[0, -1]
    assert book(soc, offered=30.0).taken_c[0] == pytest.approx(filled, rel=1e-5)  # the kink costs the solver


@given(st.floats(0.0, 1.0), st.floats(0.0, 200.0), st.floats(0.0, 200.0), st.booleans())
def test_charge_stays_between_empty_and_full_and_the_books_close(soc, offered, use, is_open):
    ledger = book(soc, offered, use, np.array([is_open]))
    assert 0.0 <= ledger.charge_c[0] <= Q * (1.0 + 1e-12)
    balance = soc * Q + ledger.taken_c[0] - ledger.drawn_c[0]
    assert ledger.charge_c[0] == pytest.approx(balance, abs=1e-9 * Q)


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.floats(0.0, 100.0), st.floats(0.0, 50.0))
def test_more_charge_before_an_hour_is_never_less_after_it(first, second, offered, use):
    less, more = sorted((first, second))
    assert book(less, offered, use).charge_c[0] <= book(more, offered, use).charge_c[0] + 1e-9 * Q


def test_the_caller_keeps_its_own_array():
    start = np.array([0.5 * Q])
    ledger = Ledger(Q, start)
    ledger.quiet_hour(5.0)
    assert start[0] == 0.5 * Q
