"""Quantities typed by people: what is read, what is refused, and what the refusal offers instead."""

from __future__ import annotations

import math
import subprocess
import sys
import time

import pint
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from planner.unit_list import UNITS_OF
from planner.units import (
    KINDS,
    UnitError,
    accepted_form,
    accepted_units,
    example,
    from_si,
    split_quantity,
    to_si,
)

REGISTRY = pint.UnitRegistry()


def _refusal(text: str, kind: str) -> UnitError:
    with pytest.raises(UnitError) as caught:
        to_si(text, kind)
    return caught.value


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        # Exact by definition of the prefix or of the unit.
        ("12.5 A", "current", 12.5),
        ("11 mA", "current", 0.011),
        ("5 h 10 min", "duration", 18_600.0),
        ("5 h 50 min 12 s", "duration", 21_012.0),
        ("1 d", "duration", 86_400.0),
        ("-2 degC", "temperature", 271.15),
        ("5 °C", "temperature", 278.15),
        ("5 ℃", "temperature", 278.15),
        ("\u22125 degC", "temperature", 268.15),
        ("300 K", "temperature", 300.0),
        ("0.5 %", "fraction", 0.005),
        ("1 delta_degC", "temperature_difference", 1.0),
        ("2 K", "temperature_difference", 2.0),
        ("103.4 Ah", "charge", 372_240.0),
        ("800 mAh", "charge", 2_880.0),
        ("1.2 kWh", "energy", 4_320_000.0),
        ("5 mohm", "resistance", 0.005),
        ("5 mOhm", "resistance", 0.005),
        ("5 mΩ", "resistance", 0.005),
        ("5 m\u2126", "resistance", 0.005),
        ("5 milliohm", "resistance", 0.005),
        ("3\u00a0ohm", "resistance", 3.0),
        ("25 mm^2", "area", 25e-6),
        ("25 mm2", "area", 25e-6),
        ("25 mm²", "area", 25e-6),
        ("3 km/h", "speed", 3.0 / 3.6),
        ("20 A/s", "current_rate", 20.0),
        ("2.24 W/K", "thermal_conductance", 2.24),
        ("11.2 kJ/K", "heat_capacity", 11_200.0),
        ("180 deg", "angle", math.pi),
        ("4700 uF", "capacitance", 4.7e-3),
        ("1.5e3W", "power", 1500.0),
    ],
)
def test_si_units_are_read_exactly(text: str, kind: str, expected: float) -> None:
    # Two roundings of a double: number times factor, and the sum of parts or the offset.
    assert to_si(text, kind) == pytest.approx(expected, rel=4e-16)


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        # NIST SP 811, appendix B.8, exact ones unless marked.
        ("1 in", "length", 0.0254),
        ("1 ft", "length", 0.3048),
        ("1 mi", "length", 1609.344),
        ("1 nmi", "length", 1852.0),
        ("1 kn", "speed", 1852.0 / 3600.0),
        ("1 mi/h", "speed", 0.44704),
        ("1 mph", "speed", 0.44704),
        ("1 lb", "mass", 0.45359237),
        ("1 oz", "mass", 0.028349523125),
        ("1 lbf", "force", 4.4482216152605),
        ("1 hp", "power", 745.699871582),  # 550 ft lbf/s, printed to 12 digits
        ("32 degF", "temperature", 273.15),  # (F - 32)/1.8
        ("10 degF", "temperature", 273.15 + (10.0 - 32.0) / 1.8),
        ("122 °F", "temperature", 323.15),
        ("18 delta_degF", "temperature_difference", 10.0),
        ("72F", "temperature", 273.15 + 40.0 / 1.8),
        ("-4 F", "temperature", 253.15),
        ("22C", "temperature", 295.15),
        ("22 C", "temperature", 295.15),
        ("13 lb 11 oz", "mass", 13.0 * 0.45359237 + 11.0 * 0.028349523125),
        ("5 ft 6 in", "length", 66.0 * 0.0254),
    ],
)
def test_customary_units_follow_the_published_factors(text: str, kind: str, expected: float) -> None:
    # 1e-12: the printed horsepower has 12 digits, the others are exact but for a few roundings.
    assert to_si(text, kind) == pytest.approx(expected, rel=1e-12)


def test_fahrenheit_scale_and_celsius_scale_are_kept_apart() -> None:
    # By hand: 10 degC is 50 degF; 10 degF is -12.2 degC.
    assert from_si(to_si("10 degC", "temperature"), "degF") == pytest.approx(50.0, abs=1e-9)
    assert from_si(to_si("10 degF", "temperature"), "degC") == pytest.approx(-12.222222, abs=1e-6)


@pytest.mark.parametrize(
    ("spelling", "kind"), [(spelling, kind) for kind in KINDS for spelling in UNITS_OF[kind]], ids=str
)
def test_every_factor_in_the_list_is_the_one_of_an_independent_registry(spelling: str, kind: str) -> None:
    name = UNITS_OF[kind][spelling][0]
    for number in (0.0, 1.0, 37.5):
        expected = REGISTRY.Quantity(number, name).to_base_units().magnitude
        if kind == "mass":
            expected = REGISTRY.Quantity(number, name).m_as("kilogram")
        # 1e-12: both sides round a few times; Fahrenheit's offset costs the most.
        assert to_si(f"{number} {spelling}", kind) == pytest.approx(expected, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "offer"),
    [
        ("12,5 V", "voltage", 'write "12.5 V".'),
        ("5,5", "current", 'A decimal comma is not accepted: write "5.5 A".'),
        ("5,5A", "current", 'write "5.5 A".'),
        ("-2,5", "temperature", 'write "-2.5 degC".'),
        ("5,500", "current", 'write "5.500 A" or, if the comma groups thousands, "5500 A".'),
        ("0,500 A", "current", 'write "0.500 A".'),
        ("1,234.5 W", "power", 'If the comma groups thousands, write "1234.5 W".'),
        ("1,234,567", "power", 'If the comma groups thousands, write "1234567 W".'),
        ("1.234,5 W", "power", 'A decimal comma is not accepted: write "1234.5 W".'),
        ("0,5", "fraction", 'write "50 %" if 0.5 is meant as a fraction'),
        ("5 h 10,5 min", "duration", "A number is written without comma."),
        (".5 A", "current", 'Write the zero before the point: "0.5 A".'),
        ("1,250 W", "power", "1250 W"),
        ("1 250 W", "power", "1250 W"),
        ("1'250 W", "power", "1250 W"),
        ("12 ± 1 V", "voltage", "12.5 V"),
        ("60 W/12 V", "power", "900 W"),
        ("12.5(3) V", "voltage", "12.5 V"),
        ("100 ah", "charge", '"100 Ah"'),
        ("100 AH", "charge", '"100 Ah"'),
        ("5:07", "duration", 'Write "5 h 7 min" or "5 min 7 s", whichever is meant.'),
        ("5:07 h", "duration", 'Write "5 h 7 min" or "5 min 7 s", whichever is meant.'),
        ("1:02:03", "duration", 'Write "1 h 2 min 3 s".'),
        ("5:07", "current", "12.5 A"),
        ("11 oz 13 lb", "mass", "11.2 kg"),
        ("5 ft -6 in", "length", "2.5 m"),
        ("5 ft 6 lb", "length", "lb is a unit of mass"),
        ("30 m", "duration", '"30 min"'),
        ("W", "power", "900 W"),
        ("nan V", "voltage", "12.5 V"),
        ("inf V", "voltage", "12.5 V"),
        ("1e400 V", "voltage", "12.5 V"),
        ("", "voltage", "Leave the key out"),
        ("   ", "voltage", "Leave the key out"),
        ("n/a", "voltage", "Leave the key out"),
        ("not tested", "charge", "Leave the key out"),
        ("__import__('os')", "power", "900 W"),
        ("9**9**9 W", "power", "900 W"),
        ("9^9^9 W", "power", "900 W"),
        ("10**100000000 W", "power", "900 W"),
        ("W**9**9**9", "power", "900 W"),
        ("9**9**7 W", "power", "900 W"),
        ("(" * 2000 + "1" + ")" * 2000 + " W", "power", "900 W"),
        ("5² V", "voltage", "12.5 V"),
        ("１２ V", "voltage", "12.5 V"),
        ("1234567890 W", "power", "at most 9 digits"),
        ("100 Ah", "current", '"100 A"'),
        ("100 A", "charge", '"100 Ah"'),
        ("1280 W", "energy", '"1280 Wh"'),
        ("1280 Wh", "power", '"1280 W"'),
        ("0.5 C", "current", "C-rate"),
        ("55 lb", "power", "force"),
        ("55 lb", "force", '"55 lbf"'),
        ("10 degC", "temperature_difference", '"10 delta_degC"'),
        ("10 delta_degC", "temperature", '"10 degC"'),
        ("5", "current", '"5 A"'),
        ("10 min 5 h", "duration", "5 h 10 min"),
        ("5 h -10 min", "duration", "5 h 10 min"),
        ("5 h 5 h", "duration", "5 h 10 min"),
        ("1 A 2 mA", "current", "12.5 A"),
        ("4", "area", '"AWG 4" or "4 mm^2"'),
        ("SAE 4", "area", "less copper"),
        ("AWG 5/0", "area", "AWG 2/0"),
        ("AWG 40", "area", "mm^2"),
    ],
)
def test_what_is_no_quantity_is_refused_with_an_offer(text: str, kind: str, offer: str) -> None:
    started = time.process_time()
    refusal = _refusal(text, kind)
    assert offer in refusal.fix
    assert refusal.value == (text if len(text) <= 40 else text[:40] + "…")
    assert refusal.allowed
    # A denial of service took a parser 2.6 s and more; a second is far from either side.
    assert time.process_time() - started < 1.0


@given(text=st.text(max_size=60), kind=st.sampled_from(KINDS))
def test_any_text_gives_a_finite_number_or_a_refusal(text: str, kind: str) -> None:
    try:
        assert math.isfinite(to_si(text, kind))
    except UnitError as refusal:
        assert refusal.fix


@given(
    number=st.floats(-1e8, 1e8).map(lambda x: round(x, 6)),
    unit=st.sampled_from([(kind, spelling) for kind in KINDS for spelling in UNITS_OF[kind]]),
)
def test_a_quantity_survives_the_way_to_si_and_back(number: float, unit: tuple[str, str]) -> None:
    kind, spelling = unit
    back = from_si(to_si(f"{number:.6f} {spelling}", kind), spelling)
    # Relative: three roundings. Absolute: a temperature near zero loses what its offset of 273.15 K or
    # 459.67 degF rounds off.
    assert back == pytest.approx(number, rel=1e-14, abs=1e-12)


@given(first=st.floats(0.0, 1e6), second=st.floats(0.0, 1e6))
def test_the_larger_number_is_the_larger_quantity_in_every_unit(first: float, second: float) -> None:
    assume(first < second)
    for spelling in ("A", "mA", "kA"):
        assert to_si(f"{first:.9f} {spelling}", "current") <= to_si(f"{second:.9f} {spelling}", "current")


@pytest.mark.parametrize(
    ("text", "diameter_mm"),
    [
        # ASTM B258 end points: 4/0 is 0.46 in, 36 is 0.005 in. Table values for 18 and 16, printed to 0.1 um.
        ("AWG 4/0", 11.684),
        ("AWG 36", 0.127),
        ("AWG 18", 1.0237),
        ("AWG 16", 1.2908),
    ],
)
def test_gauges_have_the_diameters_of_the_standard(text: str, diameter_mm: float) -> None:
    area_mm2 = to_si(text, "area") * 1e6
    # 1e-4: the table's diameters are printed to five digits.
    assert area_mm2 == pytest.approx(math.pi / 4.0 * diameter_mm**2, rel=1e-4)


@pytest.mark.parametrize(("one", "other"), [("AWG 2/0", "AWG 00"), ("awg 4", "4 AWG"), ("AWG 1/0", "AWG 0")])
def test_a_gauge_may_be_written_in_more_than_one_way(one: str, other: str) -> None:
    assert to_si(one, "area") == to_si(other, "area")


def test_awg_4_and_4_square_millimetres_are_different_wires() -> None:
    assert to_si("AWG 4", "area") * 1e6 == pytest.approx(21.15, abs=0.005)  # ASTM B258, to 0.01 mm2
    assert to_si("4 mm^2", "area") * 1e6 == pytest.approx(4.0, rel=1e-12)  # roundings only


def test_number_and_unit_are_told_apart() -> None:
    assert split_quantity("-5.5 degC") == (-5.5, "degC")
    assert split_quantity("72F", "temperature") == (72.0, "degF")
    assert split_quantity("72F") == (72.0, "F")  # farad, where nobody says what is wanted
    for text in ("5 parsec", "5 h 10 min", "A"):
        with pytest.raises(UnitError):
            split_quantity(text)


def test_an_unknown_unit_is_refused_on_the_way_out() -> None:
    with pytest.raises(UnitError):
        from_si(1.0, "furlong")


@pytest.mark.parametrize("kind", KINDS)
def test_every_example_shown_to_the_user_is_accepted(kind: str) -> None:
    for text in example(kind).split(" or "):
        assert math.isfinite(to_si(text, kind))
    assert all(unit in accepted_form(kind) for unit in accepted_units(kind))


def test_si_texts_do_not_load_the_large_registry() -> None:
    code = (
        "import sys; from planner.units import to_si; to_si('5 degC', 'temperature');"
        "assert 'pint' not in sys.modules; to_si('1 ft', 'length'); assert 'pint' in sys.modules"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@pytest.mark.parametrize(("text", "told"), [("0.2", '"20 %"'), ("-0.5", '"-50 %"'), ("1", '"100 %"'), ("20", '"20 %"')])
def test_a_fraction_without_its_unit_is_told_in_per_cent(text: str, told: str) -> None:
    # 0.2 of a whole is 20 %: to write "0.2 %" would be a hundredth of what is meant
    with pytest.raises(UnitError) as caught:
        to_si(text, "fraction")
    assert told in caught.value.fix
