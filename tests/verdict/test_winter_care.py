"""Standing, charging and coming in from the cold, through the answer of a year. Invented unit and place."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from planner.battery.fit import fit_record
from planner.errors import InputRefused
from planner.explain.sentences import sentence
from planner.explain.winter_care_text import care_json, care_sentences
from planner.verdict.assess import assess
from planner.verdict.winter_check import Winter, winter_check, work_out_winter
from planner.winter.reader import read_climate
from tests.verdict import cold_places
from tests.verdict.invented_bench import STURDY, read_need, read_unit

COLD_TEST = "".join(
    f'[[cold_charge_test]]\ndirection = "{leg}"\ncell_temperature = "{c} degC"\ncharging = "{found}"\nsoak = "24 h"\n'
    'instrument = "probe"\n'
    for leg, c, found in (
        ("cooling", -2, "blocked"), ("cooling", 1, "accepted"), ("warming", 3, "blocked"), ("warming", 5, "accepted"),
    )
)  # fmt: skip
NEED = """
format = 1
name = "Two lamps on two (invented)"
duration = "4 h"
ambient = "15 degC"
[[load]]
name = "lamps"
kind = "current"
current = "4 A"
use = [{ start = "0 h", length = "4 h" }]
[bank]
parallel = 2
lead_resistances = ["1 mohm", "1 mohm"]
"""
STORED = '[storage]\nsleep_current = "11 mA"\n'


def year(folder, more: str = "", unit: str = STURDY + COLD_TEST + STORED, **changes) -> Winter:
    cold_places.frost_now_and_then(folder)
    path = folder / "climate.toml"
    path.write_text(path.read_text(encoding="utf-8") + more, encoding="utf-8")
    record = read_unit(folder, unit)
    return work_out_winter(record, replace(read_climate(path), **changes), fit_record(record), 0, 1)


def test_days_of_storage_are_those_of_the_hand_calculation(tmp_path):
    found = year(tmp_path).care.storage
    # 11 mA and 2 % a month of 103.4 Ah: 0.264 + 0.0689 Ah a day; 51.7 Ah last 155 days, 44 with 35 mA beside;
    # the fitted charge goes on below the cut-off, so up to 1.5 % more
    assert found.days == pytest.approx(155.0, rel=0.015)
    assert not found.self_discharge_measured
    beside = '[standing]\nfrom_charge = "60 %"\nto_charge = "10 %"\nparasite = "35 mA"\n'
    assert year(tmp_path, beside).care.storage.days == pytest.approx(44.0, rel=0.02)


def test_a_sleep_current_nobody_measured_is_said(tmp_path):
    care = year(tmp_path, unit=STURDY + COLD_TEST).care
    assert care.storage.sleep_a is None
    assert any("was not measured" in text for text in care_sentences(care))


def test_a_cold_battery_brought_in_warms_to_both_resume_temperatures_and_gets_wet(tmp_path):
    # 11.2 kg x 1000 J/(kg K) behind 2.24 W/K: 1.389 h; from -9 degC in 15 degC air to 2 degC 0.85 h, to 6 degC 1.36 h
    # (tau ln(24/13), tau ln(24/9)); dew point of 15 degC at 60 % about 7.3 degC: dry after tau ln(24/7.7) = 1.58 h
    one = year(tmp_path, conductance_w_per_k=2.24, heat_capacity_j_per_k=11200.0)
    coldest = float(one.outlook.given.coldest_cell_k.min())
    tau_h, span = 11200.0 / 2.24 / 3600.0, 288.15 - coldest
    found = care_json(one.care)["brought_in"]
    assert found["charging_resumes_after_h"]["low"] == pytest.approx(tau_h * math.log(span / 13.0), rel=1e-9)
    assert found["charging_resumes_after_h"]["high"] == pytest.approx(tau_h * math.log(span / 9.0), rel=1e-9)
    assert tau_h * math.log(24.0 / 13.0) == pytest.approx(0.85, abs=0.005)
    assert tau_h * math.log(24.0 / 9.0) == pytest.approx(1.36, abs=0.005)
    assert found["condenses"] and found["dew_point_degC"] == pytest.approx(7.3, abs=0.05)
    assert any("Water settles" in text for text in care_sentences(one.care))


def test_dry_air_leaves_it_dry_and_cold_air_never_lets_it_charge(tmp_path):
    dry = year(tmp_path, '[indoors]\nair = "15 degC"\nhumidity = "5 %"\n').care
    assert not dry.brought_in.wet and dry.brought_in.dry_s == 0.0
    cold = care_json(year(tmp_path, '[indoors]\nair = "4 degC"\n').care)["brought_in"]
    assert cold["charging_resumes_after_h"]["high"] is None
    assert cold["charging_resumes_after_h"]["low"] is not None


def test_a_charger_by_the_clock(tmp_path):
    (one,) = year(tmp_path).care.chargers
    # 20 A for 6 h at 99 %: 118.8 Ah; 82.72 Ah from a fifth at 19.8 A: 4.18 h, the taper's tail beyond it
    assert one.stored_c / 3600.0 == pytest.approx(118.8, rel=1e-9)
    assert 4.18 < one.full_s / 3600.0 < 5.2


def test_storage_that_runs_up_is_refused(tmp_path):
    with pytest.raises(InputRefused, match="to_charge"):
        year(tmp_path, '[standing]\nfrom_charge = "10 %"\nto_charge = "60 %"\n')


def test_a_gate_nobody_tested_is_never_told_to_take_charge_at_once(tmp_path):
    text = " ".join(care_sentences(year(tmp_path, unit=STURDY).care))
    assert "before charging it. Then it is warm enough" in text
    assert "lower switching temperature" not in text and "no wait before charging" not in text


def test_air_that_never_reaches_the_upper_temperature_is_said(tmp_path):
    text = " ".join(care_sentences(year(tmp_path, '[indoors]\nair = "4 degC"\n').care))
    assert "that air may never warm it enough to take charge" in text
    assert "At the lower switching temperature it takes charge after" in text


def winter_of(folder, tries: tuple[tuple[str, float, str], ...]):
    """The check of a cold year without a charger, and the record's own tries of charging in the cold."""
    text = "".join(
        f'[[cold_charge_test]]\ndirection = "{leg}"\ncell_temperature = "{c} degC"\ncharging = "{found}"\n'
        'soak = "24 h"\ninstrument = "probe"\n'
        for leg, c, found in tries
    )
    record = read_unit(folder, STURDY + text)
    return winter_check(
        work_out_winter(record, cold_places.no_charger(folder), fit_record(record), 0, 1), asked=True
    )


@pytest.mark.parametrize(
    ("tries", "verdict"),
    [
        ((), "not proven"),
        # the probe may be a kelvin off: refused at 0.5 degC may be refused at -0.5 degC and taken just above
        ((("cooling", 0.5, "blocked"), ("cooling", 3.0, "accepted")), "not proven"),
        ((("cooling", 1.0, "blocked"), ("cooling", 3.0, "accepted")), "fits with limits"),
        ((("cooling", 1.0, "blocked"), ("cooling", -0.5, "accepted")), "not proven"),
    ],
)
def test_a_cold_year_without_a_charger_passes_by_the_bench_alone(tmp_path, tries, verdict):
    check = winter_of(tmp_path, tries)
    assert check is not None and check.verdict == verdict
    if verdict == "not proven":
        assert check.evidence == "unknown" and check.settled_by is not None
        assert "stating what charges the battery" in sentence(check.settled_by)
    else:
        assert "seen to refuse charge below 0 °C" in sentence(check.reason)
        assert check.limit is not None and "may refuse charge" in sentence(check.limit)


def test_a_charger_that_is_stated_and_gives_nothing_is_not_told_as_missing(tmp_path):
    climate = cold_places.panel_at_night(tmp_path)
    record = read_unit(tmp_path, STURDY)
    check = winter_check(work_out_winter(record, climate, fit_record(record), 0, 1), asked=True)
    assert check is not None and check.verdict == "not proven" and check.settled_by is not None
    assert "states as a charger gives nothing in any hour" in sentence(check.reason)
    assert "Nothing in the climate file" not in sentence(check.reason)
    assert "a panel gives nothing without sun" in sentence(check.settled_by)


def test_hours_without_a_charger_that_are_cold_are_not_told_as_fit_to_charge_in(tmp_path):
    tries = "".join(
        f'[[cold_charge_test]]\ndirection = "{leg}"\ncell_temperature = "{c} degC"\ncharging = "{found}"\n'
        for leg, c, found in (("cooling", 1.0, "blocked"), ("cooling", 3.0, "accepted"), ("warming", 4.0, "accepted"))
    )
    record = read_unit(tmp_path, STURDY + tries)
    climate = cold_places.summer_charger(tmp_path)
    check = winter_check(work_out_winter(record, climate, fit_record(record), 0, 1), asked=True)
    assert check is not None and check.verdict == "fits"
    told = sentence(check.reason)
    assert "never blocked in the hours you charge" in told and "At other hours the battery inside gets down to -" in told
    warm = winter_check(work_out_winter(record, cold_places.never_cold(tmp_path), fit_record(record), 0, 1), asked=True)
    assert warm is not None and "or above whatever the hour" in sentence(warm.reason)


def test_a_bank_of_different_units_is_judged_by_the_one_that_takes_the_year_worst(tmp_path):
    """One refuses charge in the cold, the other was never tried: what is known of one says nothing of the other."""
    cold_places.frost_now_and_then(tmp_path)
    place = read_climate(tmp_path / "climate.toml")
    need = read_need(tmp_path, NEED)
    tested, untried = read_unit(tmp_path, STURDY + COLD_TEST, "tested.toml"), read_unit(tmp_path, STURDY, "untried.toml")

    def told(record, *units):
        return {check.id: check for check in assess(record, need, place, draws=4, units=units).checks}["winter_charging"]

    alone = {unit: told(unit, unit, unit).reason.code for unit in (tested, untried)}
    assert len(set(alone.values())) == 2
    for units in ((tested, untried), (untried, tested)):
        assert told(tested, *units).reason.code == alone[untried]
