"""A pull that a hold of the bench outdoes at every moment, and a load that outlasts the battery. Hand calculation;
that what protects grows with the current it has seen is a property of every sum of past heat and of every delay.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.explain.answer_text import fit_text
from planner.outing.schema import Load, Outing, Use
from planner.record.schema import CurrentTest
from planner.verdict.assess import Assessment, assess
from tests.verdict.invented_records import UNIT, WARM_K, discharge, hold

# Nothing but a discharge at 20 A and a hold of 150 A for a minute, which shows 150 A less 2 % and 0.5 A: 146.5 A.
SPARSE = replace(UNIT, capacity_tests=(discharge(20.0, 101.5, 1),), current_tests=(hold(150.0, 60.0, 1),),
                 step_tests=(), terminal_tests=())  # fmt: skip


def pulled(*uses: tuple[float, float], current_a: float = 140.0, beside_a: float = 0.0, soc: float = 1.0,
           tests: tuple[CurrentTest, ...] = ()) -> Assessment:  # fmt: skip
    """Pulls (start, length) in an hour, perhaps with a steady load beside them."""
    pull = Load("winch", "current", tuple(Use(start, long) for start, long in uses), "measured", 0.02, current_a=current_a)
    loads = [pull]
    if beside_a:
        loads.append(Load("light", "current", (Use(0.0, 3600.0),), "measured", 0.02, current_a=beside_a))
    outing = Outing("pulls", 3600.0, WARM_K, WARM_K, tuple(loads), start_soc=soc)
    return assess(replace(SPARSE, current_tests=(*SPARSE.current_tests, *tests)), outing, draws=40)


def zones(found: Assessment, basis: str) -> dict[float, str]:
    rows = zip(found.peak.points, found.peak.zones, strict=True)
    return {point.duration_s: zone.name for point, zone in rows if point.basis == basis}


def test_one_pull_within_a_hold_is_shown_over_windows_longer_than_the_hold_too():
    # over 300 s it heats like 140 A times the root of 45/300, 54 A, which no test covers by itself
    found = pulled((600.0, 45.0))
    assert zones(found, "rms") == {10.0: "demonstrated", 60.0: "demonstrated", 300.0: "demonstrated", 900.0: "demonstrated"}
    assert found.peak.worst is not None
    decides = found.peak.points[found.peak.worst]
    assert (decides.basis, decides.current_a) == ("run", 140.0)  # and told as the pull it is
    assert found.peak.zones[found.peak.worst].margin_a == pytest.approx(146.5 - 140.0)


@pytest.mark.parametrize("uses", [((600.0, 25.0), (635.0, 25.0)), ((600.0, 60.0),)])
def test_pulls_count_as_one_from_the_first_moment_to_the_last(uses):
    assert set(zones(pulled(*uses), "rms").values()) == {"demonstrated"}


@pytest.mark.parametrize(
    "found",
    [
        lambda: pulled((600.0, 25.0), (636.0, 25.0)),  # 61 s from first to last
        lambda: pulled((600.0, 45.0), (1500.0, 45.0)),  # what the first left behind is not known
        lambda: pulled((600.0, 45.0), beside_a=0.5),  # nor what half an ampere for an hour adds
        lambda: pulled((600.0, 45.0), soc=0.15),  # no hold speaks below a fifth of the charge
    ],
)
def test_what_the_hold_does_not_outdo_at_every_moment_stays_open(found):
    assert zones(found(), "rms")[300.0] == "untested"


def test_more_than_the_hold_less_its_error_stays_open():
    found = pulled((600.0, 45.0), current_a=147.0)
    assert zones(found, "rms")[300.0] == "untested"
    assert found.verdict == "not proven"


def test_a_window_that_meets_a_trip_stays_one():
    found = pulled((600.0, 45.0), tests=(hold(50.0, 200.0, 2, "trip"),))
    assert zones(found, "rms")[300.0] == "trips"
    assert found.verdict == "does not fit"


def test_a_load_that_outlasts_the_battery_is_open_for_its_charge_and_not_for_its_current():
    # 130 Ah of 101.5: at 20 A the unit ran until it was empty, and at 6.5 A no current flows once it is
    load = Load("lights", "current", (Use(0.0, 20.0 * 3600.0),), "measured", 0.02, current_a=6.5)
    found = assess(SPARSE, Outing("long", 20.0 * 3600.0, WARM_K, WARM_K, (load,)), draws=40)
    checks = {check.id: check for check in found.checks}
    assert checks["energy"].verdict == "does not fit"
    assert checks["peak_current"].verdict == "fits"
    strong = replace(load, current_a=21.0)
    found = assess(SPARSE, Outing("long", 20.0 * 3600.0, WARM_K, WARM_K, (strong,)), draws=40)
    assert found.peak.zone == "untested"


def test_pulses_that_decide_are_told_in_the_plural():
    hard = fit_text(pulled((600.0, 45.0), (1500.0, 45.0)))
    assert "are those that decide. No test covers it." in " ".join(hard.split())


def test_a_pull_close_to_what_was_shown_is_not_told_as_more():
    told = " ".join(fit_text(pulled((600.0, 45.0), current_a=146.2)).split())
    assert "146.2 amps for 45 seconds is the pull with the least room. This unit was shown to hold 146.5 amps" in told
    assert "146.2 amps for 45 seconds. On the bench this unit held 146.5 amps for 1 minute" in told


def test_a_test_that_carried_as_much_in_other_cells_is_told_beside_what_is_open():
    load = Load("steady", "current", (Use(0.0, 3600.0),), "measured", 0.02, current_a=15.0)
    hot = assess(SPARSE, Outing("hot", 3600.0, WARM_K + 20.0, WARM_K + 20.0, (load,)), draws=40)
    assert hot.peak.zone == "untested"
    assert "carried as much, but with the battery inside at 25 °C, and in your plan it gets to 45 °C" in " ".join(fit_text(hot).split())
    strong = assess(SPARSE, Outing("strong", 3600.0, WARM_K, WARM_K, (replace(load, current_a=30.0),)), draws=40)
    assert strong.peak.zone == "untested" and "carried as much" not in fit_text(strong)


def test_what_rests_on_no_test_is_told_as_assumed_and_not_as_out_of_a_handbook():
    told = " ".join(fit_text(pulled((600.0, 45.0))).split())
    assert "Not measured on this unit, but assumed, with a spread that widens the range: " in told
    assert "handbook values" not in told


def test_what_a_hold_took_out_and_more_is_charge_that_was_shown():
    # 140 A for 45 s are 1.75 Ah, and the hold took 2.5 out at more; above 20 A nothing else is known
    checks = {check.id: check for check in pulled((600.0, 45.0)).checks}
    assert (checks["energy"].verdict, checks["energy"].evidence) == ("fits", "derived")
    assert checks["energy"].reason.code == "energy_carried" and checks["energy"].capability is None
    assert "What it gives in all at such a current was not tested." in " ".join(fit_text(pulled((600.0, 45.0))).split())
    for beyond in (pulled((600.0, 25.0), (636.0, 25.0)), pulled((600.0, 45.0), current_a=147.0)):
        open_too = {check.id: check for check in beyond.checks}
        assert (open_too["energy"].verdict, open_too["energy"].reason.code) == ("not proven", "beyond_rate")


def test_a_reserve_after_such_a_pull_is_not_shown_by_it():
    load = Load("winch", "current", (Use(600.0, 45.0),), "measured", 0.02, current_a=140.0)
    outing = Outing("pull", 3600.0, WARM_K, WARM_K, (load,), reserve_fraction=0.2)
    checks = {check.id: check for check in assess(SPARSE, outing, draws=40).checks}
    assert checks["energy"].verdict == "fits"
    assert (checks["reserve"].verdict, checks["reserve"].reason.code) == ("not proven", "beyond_rate")
