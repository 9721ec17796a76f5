"""Reading a battery's record: figures completed and compared, gaps kept, every problem at once."""

from __future__ import annotations

import copy
import dataclasses
import datetime
import math
import tempfile
import tomllib
from pathlib import Path

import pytest
import tomlkit
from hypothesis import given
from hypothesis import strategies as st

from planner.errors import InputRefused
from planner.record.reader import read_record
from tests.record.records import AH, DISCHARGE, FULL, METERS, problems_of


def test_a_full_record_arrives_in_si_without_a_warning(write) -> None:
    record = read_record(write(FULL))
    assert record.warnings == ()
    assert (record.name, record.tag, record.tested_on) == (
        "Unit (invented)",
        "U1",
        datetime.date(2026, 3, 14),
    )
    assert (record.mass_kg, record.price, record.currency, record.series_allowed) == (
        11.2,
        289.0,
        "USD",
        True,
    )
    claims = record.claims
    assert claims.capacity_c == 100 * AH
    assert claims.surges == ((200.0, 5.0),)
    assert claims.charge_bands == ((273.15, 283.15, 20.0), (283.15, 318.15, 50.0))
    assert claims.discharge_max_temperature_k == 328.15
    # By hand: (13.016 - 12.735) V / 80 A = 3.5125 mohm; 1e-12 for the roundings.
    assert record.step_tests[0].resistance_ohm == pytest.approx(3.5125e-3, rel=1e-12)
    (cold,) = record.cold_charge_tests
    assert (cold.direction, cold.charging, cold.at.cell_k, cold.soak_s) == (
        "cooling",
        "blocked",
        271.15,
        86_400.0,
    )
    assert record.terminal_tests[0].readings[0] == (300.0, pytest.approx(312.85, rel=1e-12))
    assert record.charge_tests[0].charge_c == 101 * AH
    assert (record.sleep_current_a, record.self_discharge_per_month) == (0.011, 0.02)
    assert record.teardown is not None
    assert record.teardown.positive_area_m2 == pytest.approx(
        26.67e-6, rel=1e-3
    )  # AWG 3 table value, 4 digits
    assert record.teardown.negative_area_m2 == pytest.approx(25e-6, rel=1e-12)
    assert record.teardown.surge_suppressor is False


def test_the_tests_of_a_full_record_arrive_in_si(write) -> None:
    record = read_record(write(FULL))
    (discharge,) = record.capacity_tests
    assert (discharge.current_a, discharge.duration_s, discharge.charge_c) == (20.02, 18_600.0, 103.4 * AH)
    assert discharge.curve[-1] == (103.4 * AH, 10.0)
    assert discharge.at.place == "capacity_test.1"
    assert discharge.at.instrument is not None
    assert discharge.at.instrument.current_gain == 0.005
    assert (discharge.at.cell_k, discharge.at.rest_s) == (298.15, 43_200.0)
    assert discharge.at.cell_voltages_v == (2.5, 2.4, 2.6, 2.5)
    hold, ramp = record.current_tests
    assert (hold.kind, hold.duration_s, hold.rate_a_per_s, hold.recovery) == ("hold", 60.0, None, "itself")
    assert (ramp.kind, ramp.duration_s, ramp.rate_a_per_s, ramp.recovery) == ("ramp", None, 20.0, "unknown")


def test_a_record_with_one_figure_is_read_and_all_else_is_unknown(write) -> None:
    lines = 'current = "10 A"\ncharge = "98.3 Ah"\ncutoff_voltage = "10.0 V"\nended_by = "cutoff"\n'
    record = read_record(write(f'format = 1\nname = "Unit (invented)"\n[[capacity_test]]\n{lines}'))
    (test,) = record.capacity_tests
    assert test.duration_s == pytest.approx(98.3 / 10 * 3600, rel=1e-12)  # charge over current
    assert test.energy_j is None
    assert test.curve == ()
    assert test.at.instrument is None
    assert (test.at.cell_k, test.at.cell_k_stated) == (298.15, False)
    assert record.warnings == (
        "capacity_test.1: no temperature of the cells stated: taken as 25 °C",
        "capacity_test.1: no meter named: limits of error taken as 3 % + 1 A, handbook",
    )
    unknown = (record.tag, record.mass_kg, record.price, record.series_allowed, record.sleep_current_a)
    assert unknown == (None,) * 5
    assert record.teardown is None
    assert record.claims.capacity_c is None


def test_ampere_hours_in_a_current_are_offered_their_likely_reading(write) -> None:
    path = write(FULL.replace('current = "150 A"', 'current = "150 Ah"'))
    assert '"150 A"' in problems_of(path)["current_test.1.current"].fix


def test_a_test_must_say_how_it_ended(write) -> None:
    path = write(FULL.replace('ended_by = "clock"\n', "").replace('ended_by = "cutoff"\n', ""))
    problems = problems_of(path)
    assert set(problems) == {"capacity_test.1.ended_by", "current_test.1.ended_by"}
    assert problems["current_test.1.ended_by"].allowed == "clock | trip | operator | meter"


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ('kind = "hold"', 'kind = "hld"', "current_test.1.kind"),
        ('duration = "60 s"\n', "", "current_test.1.duration"),
        ('duration = "60 s"', 'duration = "60 m"', "current_test.1.duration"),
        ('duration = "60 s"', 'duration = "60 s"\nrate = "1 A/s"', "current_test.1.rate"),
        ('rate = "20 A/s"\n', "", "current_test.2.rate"),
        ('rate = "20 A/s"', 'rate = "0 A/s"', "current_test.2.rate"),
        ('to_current = "100 A"', 'to_current = "20 A"', "step_test.1.to_current"),
        ('to_voltage = "12.735 V"', 'to_voltage = "13.2 V"', "step_test.1.to_voltage"),
        ('after = "10 s"\n', "", "step_test.1.after"),
        ('cell_temperature = "-2 degC"', 'temperature = "-2 degC"', "cold_charge_test.1.cell_temperature"),
        ('charging = "blocked"', 'charging = "none"', "cold_charge_test.1.charging"),
        ('direction = "cooling"\n', "", "cold_charge_test.1.direction"),
        ('ambient = "25 degC"\n', "", "terminal_test.1.ambient"),
        ('["5 min", "39.7 degC"]', '["15 min", "39.7 degC"]', "terminal_test.1.readings"),
        ('sleep_current = "11 mA"', 'sleep_current = "n/a"', "storage.sleep_current"),
        ('self_discharge = "2 %"', "self_discharge = 0.02", "storage.self_discharge"),
        ('positive_lead = "AWG 3"', 'positive_lead = "3"', "teardown.positive_lead"),
        ('negative_lead = "25 mm^2"', 'negative_lead = "SAE 3"', "teardown.negative_lead"),
        ('"10 degC", "20 A"]', '"-10 degC", "20 A"]', "claims.charge_bands.1"),
        (
            'surges = [{ current = "200 A", duration = "5 s" }]',
            'surges = [{ current = "200 A" }]',
            "claims.surges.1.duration",
        ),
        (
            'charge_min_temperature = "0 degC"',
            'charge_min_temperature = "0 Cel"',
            "claims.charge_min_temperature",
        ),
        ("series_allowed = true", 'series_allowed = "yes"', "series_allowed"),
        ("price = 289.0", 'price = "289 USD"', "price"),
        ('mass = "11.2 kg"', 'mass = "-1 kg"', "mass"),
        ("tested_on = 2026-03-14", 'tested_on = "14.3.2026"', "tested_on"),
        ("[storage]", "[storge]", "storge"),
        ("format = 1\n", "", "format"),
        ('name = "Unit (invented)"\n', "", "name"),
        ('current = "0.5 %"', 'current = "60 %"', "instruments.load.current"),
        ('temperature = "1 delta_degC"', 'temperature = "1 degC"', "instruments.probe.temperature"),
    ],
)
def test_each_wrong_entry_is_refused_at_its_own_key(write, old: str, new: str, key: str) -> None:
    assert old in FULL
    problems = problems_of(write(FULL.replace(old, new)))
    assert key in problems
    assert problems[key].allowed and problems[key].fix


def test_all_problems_of_a_record_are_told_together(write) -> None:
    text = FULL.replace('mass = "11.2 kg"', 'mass = "12,5 kg"').replace('rate = "20 A/s"', 'rate = "20 A"')
    problems = problems_of(write(text.replace("[storage]", "[storage]\ncolour = 1") + '\n[extra]\nx = "y"\n'))
    assert set(problems) == {"mass", "current_test.2.rate", "storage.colour", "extra"}


def test_an_unknown_meter_is_refused_and_the_nearest_offered(write) -> None:
    problem = problems_of(write(FULL.replace('instrument = "clamp"', 'instrument = "clmap"')))[
        "current_test.1.instrument"
    ]
    assert problem.fix == 'Did you mean "clamp"?'


def test_a_meter_named_without_any_meters_section_is_refused(write) -> None:
    problem = problems_of(write(FULL.replace(METERS, "")))["capacity_test.1.instrument"]
    assert "[instruments.load]" in problem.fix


def test_a_meter_that_does_not_state_what_the_test_needs_is_a_warning(write) -> None:
    text = FULL.replace('soak = "24 h"\ninstrument = "probe"', 'soak = "24 h"\ninstrument = "clamp"')
    (warning,) = read_record(write(text)).warnings
    assert warning.startswith('cold_charge_test.1: the meter "clamp" states no limit of error of temperature')


def test_a_record_without_any_test_is_refused(write) -> None:
    assert "capacity_test" in problems_of(write('format = 1\nname = "Unit (invented)"\n'))


def test_a_claim_is_no_test(write) -> None:
    text = 'format = 1\nname = "Unit (invented)"\n[claims]\ncapacity = "100 Ah"\n'
    assert "capacity_test" in problems_of(write(text))


def test_a_terminal_test_needs_no_temperature_of_cells(write) -> None:
    (test,) = read_record(write(FULL)).terminal_tests
    assert (test.at.cell_k, test.at.cell_k_stated) == (298.15, False)


def test_overlapping_charge_bands_and_a_missing_currency_are_warnings(write) -> None:
    text = FULL.replace('["10 degC", "45 degC", "50 A"]', '["5 degC", "45 degC", "50 A"]')
    warnings = read_record(write(text.replace('currency = "USD"\n', ""))).warnings
    assert len(warnings) == 2
    assert "overlap" in warnings[0] and "currency" in warnings[1]


def test_twice_the_claim_is_asked_about(write) -> None:
    (warning,) = read_record(write(FULL.replace('capacity = "100 Ah"', 'capacity = "10 Ah"'))).warnings
    assert "10.3 times the claimed capacity" in warning  # by hand: 103.4 / 10


def test_records_of_further_units_come_along_with_their_files(write, tmp_path: Path) -> None:
    write(FULL.replace('tag = "U1"', 'tag = "U2"'), "second.toml")
    record = read_record(write(FULL.replace('tag = "U1"', 'tag = "U1"\nrepeats = ["second.toml"]')))
    assert [repeat.tag for repeat in record.repeats] == ["U2"]
    assert record.files == (tmp_path / "second.toml",)
    assert record.warnings == ()


def test_a_further_unit_with_the_same_tag_is_told(write) -> None:
    write(FULL, "second.toml")
    record = read_record(write(FULL.replace('tag = "U1"', 'tag = "U1"\nrepeats = ["second.toml"]')))
    assert "counted twice" in record.warnings[0]


def test_one_unit_counts_once_among_the_further_units(write) -> None:
    for name in ("second.toml", "third.toml"):
        write(FULL.replace('tag = "U1"', 'tag = "U2"'), name)
    twice = FULL.replace('tag = "U1"', 'tag = "U1"\nrepeats = ["second.toml", "./second.toml"]')
    assert list(problems_of(write(twice))) == ["repeats.2"]
    alike = FULL.replace('tag = "U1"', 'tag = "U1"\nrepeats = ["second.toml", "third.toml"]')
    (warning,) = read_record(write(alike)).warnings
    assert "third.toml" in warning and "counted twice" in warning


def test_a_record_that_repeats_itself_or_in_a_circle_is_refused(write) -> None:
    loop = FULL.replace('tag = "U1"', 'tag = "U1"\nrepeats = ["unit.toml"]')
    assert "repeats.1" in problems_of(write(loop))
    write(loop, "second.toml")
    assert "repeats" in problems_of(
        write(FULL.replace('tag = "U1"', 'tag = "U1"\nrepeats = ["second.toml"]'))
    )


def test_problems_of_a_further_unit_are_told_with_its_file(write) -> None:
    write(FULL.replace('mass = "11.2 kg"', "mass = 11.2"), "second.toml")
    problems = problems_of(write(FULL.replace('tag = "U1"', 'tag = "U1"\nrepeats = ["second.toml"]')))
    assert problems["mass"].file.endswith("second.toml")


def test_a_record_named_by_mistake_is_refused_not_crashed_on(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "none.toml"):
        assert "(file)" in problems_of(path)


ENTRIES = [
    "",
    "n/a",
    "5 C",
    "nan A",
    "-1 V",
    "1e99 W",
    "0 Ah",
    "\u0000",
    "x" * 300,
    0,
    -1,
    1e308,
    10**400,
    True,
]
ENTRIES += [[], [[]], [["1 A"]], {}, {"a": {}}, datetime.date(1, 1, 1), datetime.time(0, 0), float("nan")]


def _places(value: object, path: tuple[object, ...] = ()) -> list[tuple[object, ...]]:
    """The paths of every table, list and entry of a parsed file."""
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [path, *(place for key, item in inside for place in _places(item, (*path, key)))]


PLACES = [place for place in _places(tomllib.loads(FULL)) if place]


@given(st.lists(st.tuples(st.sampled_from(PLACES), st.sampled_from(ENTRIES)), min_size=1, max_size=3))
def test_whatever_is_written_at_a_key_gives_a_record_or_a_refusal(
    changes: list[tuple[tuple, object]],
) -> None:
    values = tomllib.loads(FULL)
    for path, entry in changes:
        inner = values
        try:
            for key in path[:-1]:
                inner = inner[key]
            inner[path[-1]] = copy.deepcopy(entry)
        except (KeyError, IndexError, TypeError, AttributeError):
            continue  # an earlier change took this place away
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "unit.toml"
        path.write_text(tomlkit.dumps(values), encoding="utf-8")
        try:
            assert read_record(path).name
        except InputRefused as refusal:
            assert all(problem.key and problem.fix for problem in refusal.problems)


def test_no_accepted_record_holds_a_stand_in(write) -> None:
    (test,) = read_record(write(FULL)).capacity_tests
    assert all(math.isfinite(value) for value in (test.duration_s, test.charge_c, test.cutoff_v))


@pytest.mark.parametrize(
    ("old", "new", "key", "word"),
    [
        ('duration = "5 h 10 min"', 'duration = "5.17 min"', "capacity_test.1.charge", "1.725 Ah"),  # 20.02 A
        ('energy = "1341 Wh"', 'energy = "900 Wh"', "capacity_test.1.energy", "area under the curve"),
    ],
)
def test_figures_that_cannot_be_of_one_discharge_are_refused(write, old, new, key, word) -> None:
    assert old in FULL
    problems = problems_of(write(FULL.replace(old, new, 1)))
    assert word in problems[key].value


@pytest.mark.parametrize(("duration", "refused"), [("10 h", True), ("20 min", False)])
def test_a_hold_takes_out_no_more_than_the_unit_holds(write, duration, refused) -> None:
    """60 A for 10 h are 600 Ah, of a unit that gave 103.4 Ah."""
    held = f'[[current_test]]\nkind = "hold"\ncurrent = "60 A"\nduration = "{duration}"\nended_by = "clock"\n'
    text = f'format = 1\nname = "Unit (invented)"\n{METERS}{DISCHARGE}\n{held}'
    if refused:
        ((key, problem),) = problems_of(write(text)).items()
        assert key == "current_test.1.duration"
        assert "600 Ah" in problem.value and "103.4 Ah" in problem.allowed
    else:
        assert read_record(write(text)).current_tests[0].duration_s == 1200.0


@pytest.mark.parametrize("battery", ["unit_one", "unit_four"])  # figures typed, and figures from a raw log
def test_one_file_named_on_two_ways_is_one_record(battery) -> None:
    profiles = Path(__file__).resolve().parent.parent.parent / "profiles"
    straight = read_record(profiles / "batteries" / f"{battery}.toml")
    # as an outing's bank names it
    around = read_record(profiles / "outings" / ".." / "batteries" / f"{battery}.toml")
    assert around == straight
    assert around != dataclasses.replace(straight, tag="another")
