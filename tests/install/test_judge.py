"""The verdict on a cable run, through the buyer's own wiring record."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.install.circuit import CircuitNeed
from planner.install.conductor import STANDARD_AWG, awg_area_m2, awg_name
from planner.install.judge import judge_wiring, smallest_conductor
from planner.outing.schema import Wiring

WORST_LAST = ["fits", "fits with limits", "not proven", "does not fit"]


def wiring(number=4, **changes):
    base = Wiring(
        size=awg_name(number),
        area_m2=awg_area_m2(number),
        length_m=2.5,
        contact_resistance_ohm=1.0e-3,
        insulation_k=378.15,
        fuse_a=125.0,
    )
    return replace(base, **changes)


def need(current=100.0, **changes):
    # Bank of one unit, 13.3 V full and 3.0 mohm by its earliest reading
    base = CircuitNeed(current_rms60_a=current, peak_a=current, full_open_v=13.3, source_ohm=3.0e-3)
    return replace(base, **changes)


def warned(result, *words):
    return any(all(word in warning for word in words) for warning in result.warnings)


def test_every_number_of_a_plain_run():
    # By hand: AWG 4, 5 m loop 4.076 mohm, contacts 1.0 mohm, 100 A; half of the last digit of each
    result = judge_wiring(wiring(), need(min_load_voltage_v=12.31))
    section = result.section()
    expected = {
        "area_mm2": (21.15, 0.005), "loop_length_m": (5.0, 1e-12), "conductor_mohm": (4.076, 0.0005),
        "resistance_mohm": (5.076, 0.0005), "current_A": (100.0, 1e-12), "ampacity_A": (160.0, 1e-12),
        "drop_V": (0.508, 0.0005), "drop_percent": (3.97, 0.005), "drop_base_V": (12.8, 1e-12),
        "fuse_A": (125.0, 1e-12), "fuse_low_A": (125.0, 1e-12), "fuse_high_A": (160.0, 1e-12),
        "fuse_legal_max_A": (240.0, 1e-12), "peak_A": (100.0, 1e-12), "min_load_voltage_V": (12.31, 1e-12),
        "short_circuit_A": (4433.3, 0.05), "short_circuit_end_A": (1647.0, 0.5),
    }  # fmt: skip
    for name, (value, tolerance) in expected.items():
        assert section.pop(name) == pytest.approx(value, abs=tolerance), name
    assert section == {
        "gauge": "AWG 4", "ampacity_source": "33 CFR 183.425 Table 5, 105 degC column",
        "fuse_ok": True, "fuse_nuisance": False, "verdict": "fits",
    }  # fmt: skip
    assert result.reasons == () and result.limit is None


def test_a_drop_above_three_per_cent_names_what_it_is_too_much_for():
    assert warned(
        judge_wiring(wiring(), need()), "feeders", "bilge blowers", "electronics", "navigation lights"
    )
    assert not warned(judge_wiring(wiring(), need(current=60.0)), "feeders")


def test_current_above_ampacity_does_not_fit_and_names_the_next_conductor():
    result = judge_wiring(wiring(fuse_a=None), need(current=170.0))
    assert result.verdict == "does not fit"
    assert {"current above ampacity", "no fuse possible"} <= set(result.reasons)
    # 1.25 x 170 = 212.5 A: AWG 2 carries 210, AWG 1 245 (33 CFR 183.425); fuse 225 A
    assert (result.limit.conductor, result.limit.fuse_A) == ("AWG 1", 225.0)


def test_a_fuse_above_the_conductor_does_not_fit():
    result = judge_wiring(wiring(fuse_a=200.0), need())
    assert (result.verdict, result.fuse_ok) == ("does not fit", False)
    assert (result.limit.conductor, result.limit.fuse_A) == (None, 125.0)


def test_a_fuse_at_the_conductors_ampacity_is_still_ok():
    assert judge_wiring(wiring(fuse_a=160.0), need()).fuse_ok is True


def test_a_fuse_below_the_load_does_not_fit():
    result = judge_wiring(wiring(fuse_a=80.0), need())
    assert (result.verdict, result.reasons) == ("does not fit", ("fuse below load",))
    assert result.fuse_nuisance is True


def test_a_fuse_fits_between_load_and_cable_in_an_engine_space_and_not_in_a_bundle_there():
    # By hand: AWG 4 at 105 degC 160 A x 0.85 = 136 A; 100 A at 80 % of its fuse wants 125 A; in a bundle 95.2 A is less
    fits = judge_wiring(wiring(engine_space=True), need())
    assert (fits.verdict, fits.fuse_low_A, fits.fuse_high_A) == (
        "fits",
        125.0,
        pytest.approx(136.0, rel=1e-12),
    )
    bundled = judge_wiring(wiring(engine_space=True, bundled=3), need())
    assert bundled.verdict == "does not fit" and "no fuse possible" in bundled.reasons
    assert (
        bundled.limit.conductor is not None and bundled.limit.fuse_A >= 125.0
    )  # up in conductor, never down in fuse


def test_a_bundled_cable_leaves_no_room_for_a_fuse():
    # By hand: 160 x 0.85 x 0.7 = 95.2 A against 125 A: up in conductor, never down in fuse
    result = judge_wiring(wiring(engine_space=True, bundled=3, fuse_a=None), need(current=90.0))
    assert result.ampacity_A == pytest.approx(95.2, rel=1e-12)
    assert result.verdict == "does not fit" and result.reasons[0] == "no fuse possible"
    # 1.25 x 90 = 112.5 A; AWG 3 carries 107.1, AWG 2 124.95
    assert result.limit.conductor == "AWG 2"
    assert warned(result, "Bundle factor 0.70", "183.435")


def test_no_fuse_stated_fits_with_limits_and_suggests_one():
    result = judge_wiring(wiring(fuse_a=None), need())
    assert (result.verdict, result.fuse_ok, result.limit.fuse_A) == ("fits with limits", None, 125.0)
    assert result.fuse_nuisance is None


def test_a_fuse_inside_the_load_margin_fits_with_limits():
    result = judge_wiring(wiring(fuse_a=110.0), need())
    assert (result.verdict, result.fuse_nuisance) == ("fits with limits", True)
    assert result.reasons == ("fuse may open under the load",)


def test_the_last_bit_of_an_rms_does_not_make_the_fuse_too_small():
    assert judge_wiring(wiring(), need(current=100.00000000000001)).verdict == "fits"


def test_a_drop_above_the_allowed_fits_with_limits_and_names_the_conductor():
    # By hand: 100 A x 5.076 mohm = 3.97 % > 3 %; AWG 1: 100 A x (2.033 + 1.0) mohm = 2.37 %; AWG 2: 2.79 %
    result = judge_wiring(wiring(allowed_drop=0.03), need())
    assert (result.verdict, result.reasons) == ("fits with limits", ("drop above allowed",))
    assert result.limit.conductor == "AWG 2"
    assert result.limit.drop_percent == pytest.approx(3.97, abs=0.005)


def test_drop_is_judged_at_the_peak_where_a_load_cuts_out():
    # By hand: 300 A x 5.076 mohm = 1.523 V, 11.9 % of 12.8 V; at 100 A 3.97 %
    calm = judge_wiring(wiring(), need(peak_a=300.0))
    touchy = judge_wiring(wiring(), need(peak_a=300.0, has_cutout=True))
    assert (calm.verdict, touchy.verdict) == ("fits", "fits with limits")
    assert touchy.drop_judged_percent == pytest.approx(11.9, abs=0.05)
    assert touchy.drop_percent == pytest.approx(3.97, abs=0.005)


def test_engine_space_ceiling_is_told_both_ways():
    result = judge_wiring(wiring(engine_space=True), need())
    assert (result.ampacity_A, result.fuse_legal_max_A) == (136.0, 240.0)
    assert any(
        "240 A" in note and "204 A" in note and "not a recommendation" in note for note in result.notes
    )


def test_absent_insulation_takes_the_lowest_column_and_says_so():
    result = judge_wiring(wiring(insulation_k=None, fuse_a=None), need(current=80.0))
    assert result.ampacity_A == 105.0
    assert "60 degC column" in result.ampacity_source and warned(result, "Insulation not stated")


def test_insulation_between_columns_says_which_is_used():
    assert warned(judge_wiring(wiring(insulation_k=383.15), need()), "110 °C", "105 °C")
    assert not warned(judge_wiring(wiring(), need()), "no column")


def test_a_metric_size_says_which_row_it_uses():
    metric = wiring(size="25 mm^2", area_m2=25e-6)
    result = judge_wiring(metric, need())
    assert result.ampacity_A == 160.0 and warned(result, "25 mm²", "AWG 4")
    assert not warned(judge_wiring(wiring(), need()), "not a row")


def test_four_hundred_amperes_through_a_thin_wire_asks_for_a_check():
    result = judge_wiring(wiring(18, insulation_k=None, fuse_a=None), need(current=400.0))
    assert result.verdict == "does not fit"
    assert warned(result, "400 A through AWG 18", "10 A", "Check")
    assert warned(result, "AWG 16 is the smallest")
    assert result.metal_degC is None


def test_a_conductor_below_the_table_is_not_proven():
    thin = wiring(size="0.5 mm^2", area_m2=0.5e-6, fuse_a=None)
    result = judge_wiring(thin, need(current=1.0))
    assert (result.verdict, result.ampacity_A, result.fuse_high_A) == ("not proven", None, None)
    assert warned(result, "no cell", "0.5 mm²")
    assert result.limit.conductor is not None
    assert judge_wiring(thin, need(current=30.0)).verdict == "does not fit"  # AWG 18 itself carries 20 A


def test_warm_copper_is_warned_of_when_it_breaks_the_allowed_drop():
    # 3.97 % cold against 4 %; the loop is about 13 % more when the copper is at 55 degC
    result = judge_wiring(wiring(allowed_drop=0.04), need())
    assert result.verdict == "fits" and result.drop_warm_V > 0.04 * 12.8
    assert warned(result, "copper is warm")
    assert not warned(judge_wiring(wiring(), need()), "copper is warm")


def test_sae_cable_of_the_same_number_is_warned_of_when_it_breaks_the_allowed_drop():
    # SAE 4 may have 37360 CM = 18.93 mm2: 4.554 mohm, with contacts 4.34 % of 12.8 V at 100 A
    assert warned(judge_wiring(wiring(allowed_drop=0.042), need()), "SAE size under the same")
    assert not warned(judge_wiring(wiring(allowed_drop=0.044), need()), "SAE size under the same")


def test_interrupting_rating_is_compared_with_the_estimate():
    words = {None: "not stated", 2000.0: "below", 5000.0: "close"}
    for rating, word in words.items():
        assert warned(judge_wiring(wiring(fuse_interrupt_a=rating), need()), "nterrupting rating", word)
    assert not warned(judge_wiring(wiring(fuse_interrupt_a=10000.0), need()), "nterrupting rating")


def test_a_fuse_of_a_known_class_is_checked_against_the_peak_and_the_short_circuit():
    blade = wiring(10, fuse_a=40.0, fuse_class="ISO 8820-3 blade", contact_resistance_ohm=0.0)
    # 80 A for 1 s: twice the rating may open from 0.15 s on
    assert warned(judge_wiring(blade, need(current=30.0, peak_a=80.0, peak_s=1.0)), "80 A for 1 s may open")
    calm = judge_wiring(blade, need(current=30.0, peak_s=600.0))
    assert not warned(calm, "open")
    # 125 A is no rating of the class
    assert warned(judge_wiring(wiring(fuse_class="ISO 8820-3 blade"), need(peak_s=60.0)), "not known to open")
    assert warned(judge_wiring(wiring(fuse_class="quick"), need()), "no published opening times", "quick")


def test_a_long_thin_cable_may_burn_before_its_fuse_opens():
    # 18 AWG, 30 m one way: the far short circuit is 10.5 A, never opening a 20 A fuse
    result = judge_wiring(wiring(18, length_m=30.0, fuse_a=20.0, fuse_class="UL 248-14"), need(current=2.0))
    assert result.short_circuit_end_A < 20.0
    assert warned(result, "may not open")


def test_a_slow_fuse_is_measured_against_the_time_the_cable_stands():
    # By hand: AWG 8, 38.8 m loop 79.96 mohm and 3.0 mohm: 160 A, twice the 80 A fuse, which may take 60 s;
    # the adiabatic rule vouches for 5 s. 5 m, 10.305 and 3.0 mohm: 999.6 A, beyond the published range.
    slow = wiring(8, fuse_a=80.0, fuse_class="DIN 72581-3 type E", contact_resistance_ohm=0.0)
    assert warned(
        judge_wiring(replace(slow, length_m=19.4), need(current=20.0)), "160 A", "may not open", "5 s"
    )
    assert warned(judge_wiring(slow, need(current=20.0)), "1,000 A", "not known to open")


def test_fuses_are_told_in_their_own_size_and_the_ceiling_is_never_rounded_up():
    # By hand: 33 CFR 183.425 Table 5 gives AWG 8 at 75 degC 65 A, x 1.5 = 97.5 A: 98 A would be above the ceiling
    result = judge_wiring(wiring(8, insulation_k=348.15, fuse_a=7.5, fuse_class="UL 248-14", length_m=60.0), need(current=5.0))
    assert warned(result, "the 7.5 A fuse")
    assert any("Legal ceiling of the fuse below 50 V: 97 A" in note for note in result.notes)


def test_a_length_of_nothing_is_warned_of():
    assert warned(judge_wiring(wiring(length_m=0.0), need()), "0 m")


def test_a_window_without_a_usual_fuse_is_warned_of():
    # 8 AWG at 105 degC x 0.85 = 68 A; 1.25 x 50 = 62.5 A: neither 60 nor 70 A lies between
    result = judge_wiring(wiring(8, engine_space=True, fuse_a=None), need(current=50.0))
    assert warned(result, "No usual fuse size", "62.5 A", "68.0 A")


def test_every_answer_names_the_edition_and_who_decides():
    notes = judge_wiring(wiring(), need()).notes
    assert any("2015" in note and "183.425" in note for note in notes)
    assert notes[-1] == "Local code and a qualified person decide."


def test_both_readings_of_the_length_stand_side_by_side():
    # By hand: 0.508 V; were the 2.5 m already there and back, 100 A x (2.038 + 1.0) mohm = 0.304 V
    notes = judge_wiring(wiring(), need()).notes
    assert any("0.51 V" in note and "0.30 V" in note for note in notes)


gauges = st.sampled_from(STANDARD_AWG)
lengths = st.floats(0.1, 30.0)
currents = st.floats(0.5, 300.0)


@given(gauges, lengths, st.floats(0.0, 10.0), currents)
def test_a_longer_cable_never_betters_the_verdict(number, length, extra, current):
    short = judge_wiring(wiring(number, length_m=length), need(current))
    long = judge_wiring(wiring(number, length_m=length + extra), need(current))
    assert WORST_LAST.index(long.verdict) >= WORST_LAST.index(short.verdict)
    assert long.drop_V >= short.drop_V


@given(
    st.sampled_from(list(pairwise(STANDARD_AWG))),
    lengths,
    currents,
    st.one_of(st.none(), st.floats(5.0, 400.0)),
)
def test_a_thicker_cable_never_worsens_the_verdict(numbers, length, current, fuse):
    number, thicker = numbers
    thin = judge_wiring(wiring(number, length_m=length, fuse_a=fuse), need(current))
    thick = judge_wiring(wiring(thicker, length_m=length, fuse_a=fuse), need(current))
    assert WORST_LAST.index(thick.verdict) <= WORST_LAST.index(thin.verdict)


@given(lengths, currents)
def test_the_named_conductor_with_the_named_fuse_fits(length, current):
    thinnest = wiring(18, length_m=length, fuse_a=None)
    smallest = smallest_conductor(thinnest, need(current))
    limit = judge_wiring(thinnest, need(current)).limit  # never None: no fuse is stated
    if smallest is None:
        assert limit.conductor is None
        return
    assert limit.conductor == (None if smallest == 18 else awg_name(smallest))
    cured = wiring(smallest, length_m=length, fuse_a=limit.fuse_A)
    verdict = judge_wiring(cured, need(current)).verdict
    # A window may hold no usual size; then no fuse is named
    assert verdict == ("fits with limits" if limit.fuse_A is None else "fits")


@given(lengths, currents)
def test_nothing_thinner_than_the_smallest_conductor_would_do(length, current):
    run = wiring(length_m=length, fuse_a=None)
    smallest = smallest_conductor(run, need(current))
    for number in STANDARD_AWG:
        if number == smallest:
            break
        reasons = judge_wiring(wiring(number, length_m=length, fuse_a=None), need(current)).reasons
        assert set(reasons) - {"no fuse stated"}
