"""What --vary says, and what of it is refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner import units
from planner.errors import InputRefused
from planner.verdict.vary import parse_vary, with_values

FILE = {
    "name": "made up",
    "ambient": "12 degC",
    "duration": "5 h 10 min",
    "load": [
        {
            "name": "motor",
            "current": "20 A",
            "safety": True,
            "use": [{"start": "0 s", "length": "1 h", "speed": 0.5}],
            "table": [[0.35, "2.6 A"], [1.0, "52 A"]],
        }
    ],
    "bank": {"parallel": 2},
    "wiring": {"gauge": "AWG 4"},
}


def parse(text):
    return parse_vary(text, FILE, "need.toml")


def test_both_ends_are_included_and_the_values_even():
    vary = parse("load.1.current=5 A:60 A:50")
    assert (len(vary.numbers), vary.numbers[0], vary.numbers[-1]) == (50, 5.0, 60.0)
    assert vary.numbers[1] == pytest.approx(5.0 + 55.0 / 49.0, rel=1e-11)  # told in twelve digits
    assert (vary.heading, vary.place) == ("load.1.current (A)", ("load", 0, "current"))
    assert vary.written(7.5) == "7.5 A"


@given(st.floats(-40.0, 40.0), st.floats(-40.0, 40.0), st.integers(1, 30))
def test_every_value_is_read_back_by_the_file_s_reader_as_the_number_it_is_headed_with(low, high, count):
    vary = parse(f"ambient={low:.6f} degC:{high:.6f} degC:{count}")
    for number in vary.numbers:
        assert units.from_si(units.to_si(vary.written(number), "temperature"), "degC") == pytest.approx(
            number, abs=1e-12 * 300.0
        )


def test_the_numbers_are_in_the_unit_of_the_lower_end():
    vary = parse("load.1.use.1.length=30 min:2 h:4")
    assert (vary.heading, vary.numbers) == ("load.1.use.1.length (min)", (30.0, 60.0, 90.0, 120.0))


@pytest.mark.parametrize("text", ["duration=1 h:5 h 10 min:3", "duration=0 h 60 min:5 h 10 min:3"])
def test_the_ends_may_be_durations_in_several_parts(text):
    vary = parse(text)
    assert vary.heading == "duration (h)"
    assert vary.numbers == pytest.approx((1.0, 3.0 + 1.0 / 12.0, 5.0 + 1.0 / 6.0), rel=1e-11)  # by hand


@pytest.mark.parametrize(
    ("text", "kelvin"),
    [
        ("ambient=15 C:25 C:2", (288.15, 298.15)),
        ("ambient=59 F:77 F:2", (288.15, 298.15)),
        ("ambient=15 degC:77 F:2", (288.15, 298.15)),
    ],
)
def test_degrees_by_their_letter_alone_are_swept_as_degrees(text, kelvin):
    vary = parse(text)
    read = [units.to_si(str(vary.written(number)), "temperature") for number in vary.numbers]
    assert read == pytest.approx(kelvin, abs=1e-9)  # roundings only


def test_plain_numbers_stay_plain_and_whole_ones_whole():
    assert parse("load.1.use.1.speed=0.1:0.9:3").written(0.5) == 0.5
    parallel = parse("bank.parallel=1:3:3")
    assert [parallel.written(n) for n in parallel.numbers] == [1, 2, 3]
    assert all(isinstance(parallel.written(n), int) for n in parallel.numbers)
    assert parallel.heading == "bank.parallel (1)"


def test_a_cell_of_a_table_has_its_place_too():
    vary = parse("load.1.table.2.2=40 A:60 A:2")
    changed = with_values(FILE, [(vary.place, vary.written(60.0))])
    assert changed["load"][0]["table"] == [[0.35, "2.6 A"], [1.0, "60 A"]]
    assert FILE["load"][0]["table"][1][1] == "52 A"  # the file itself is as it was


def test_a_gauge_may_be_an_area_and_a_key_left_out_may_be_given():
    assert parse("wiring.gauge=10 mm^2:50 mm^2:5").unit == "mm^2"
    assert parse("start_charge=50 %:100 %:2").place == ("start_charge",)


@pytest.mark.parametrize(
    ("text", "key", "said"),
    [
        ("load.1.curent=5 A:60 A:5", "load.1.curent", "load.1.current"),
        ("lod.1.current=5 A:60 A:5", "lod.1.current", "load.1.current"),
        ("load.2.current=5 A:60 A:5", "load.2.current", "load.1.current"),
        ("load.0.current=5 A:60 A:5", "load.0.current", "load.1.current"),
        ("load.1.current.=5 A:60 A:5", "load.1.current.", "load.1.current"),
        ("load.1.current=5 V:60 V:5", "--vary load.1.current", "20 A"),
        ("load.1.current=5:60:5", "--vary load.1.current", "unit"),
        ("load.1.current=5,5 A:60 A:5", "--vary load.1.current", "5.5 A"),
        ("load.1.current=5 A:60 V:5", "--vary load.1.current", "V is a unit of voltage"),
        ("load.1.use.1.speed=10 %:90 %:3", "--vary load.1.use.1.speed", "without unit"),
        ("load.1.name=1 A:2 A:3", "--vary load.1.name", "another key"),
        ("load.1.safety=0:1:2", "--vary load.1.safety", "another key"),
        ("load=1:2:2", "--vary load", "another key"),
        ("load.1.current=5 A:60 A:0", "--vary load.1.current", "how many"),
        ("load.1.current=5 A:60 A:x", "--vary load.1.current", "how many"),
        ("load.1.current=5 A:60 A:9999999", "--vary load.1.current", "how many"),
        ("load.1.current=5 A:60 A", "--vary", "colons"),
        ("load.1.current", "--vary", "colons"),
        ("=1 A:2 A:3", "--vary", "colons"),
        ("", "--vary", "colons"),
        ("load.1.current=nan A:60 A:5", "--vary load.1.current", "number"),
        ("load.1.current=9e99 A:60 A:5", "--vary load.1.current", "9e99"),
    ],
)
def test_what_cannot_be_swept_is_refused_with_the_way_to_mend_it(text, key, said):
    with pytest.raises(InputRefused) as refusal:
        parse(text)
    (problem,) = refusal.value.problems
    assert problem.key == key
    assert said in str(problem)


def test_a_long_text_with_a_comma_makes_no_long_message():
    with pytest.raises(InputRefused) as refused:
        parse_vary(f"load.1.current={'1,' * 50_000} A:2 A:3", {"load": [{"current": "1 A"}]}, "a.toml")
    assert len(str(refused.value)) < 500
