"""An alternator on the battery without a charger, through the whole answer. Invented outing."""

from __future__ import annotations

import pytest

from planner.errors import InputRefused
from planner.explain.alternator_notes import alternator_json, alternator_notes
from planner.explain.caution_texts import ALTERNATOR
from planner.explain.cautions import cautions
from planner.verdict.assess import assess
from tests.verdict.invented_bench import STURDY, read_need, read_unit

OUTING = """
format = 1
name = "Evening at anchor (invented)"
duration = "2 h"
ambient = "25 degC"
[[load]]
name = "lights and fridge"
kind = "current"
current = "20 A"
[wiring]
gauge = "AWG 4"
length = "2.5 m"
contact_resistance = "1 mohm"
insulation = "105 degC"
fuse = "150 A"
"""
DIRECT = 'alternator_voltage = "14.2 V"\n'


@pytest.fixture
def answer(tmp_path):
    def of(text, unit=STURDY):
        return assess(read_unit(tmp_path, unit), read_need(tmp_path, text), draws=8)

    return of


def test_its_current_hangs_on_the_battery_the_plan_leaves_and_the_cable(answer):
    found = answer(OUTING + DIRECT)
    told = alternator_json(found)
    assert told is not None and found.wiring is not None
    # 40 Ah of 103.4 used: the plateau; 5.076 mohm of cable and joints besides the battery's own
    circuit = found.fitted.circuit(found.fitted.centre[None])
    used = 40.0 * 3600.0 / float(circuit.charge_c[0, 0, 0])
    rest_v = circuit.curve.look_up(1.0 - used, circuit.offset)[0].item()
    assert told["battery_at_rest_V"] == pytest.approx(rest_v, abs=1e-3)
    assert told["charge_A"] == pytest.approx((14.2 - rest_v) / (told["loop_mohm"] * 1e-3), rel=1e-3)
    assert told["loop_mohm"] > 5.076
    assert found.wiring.charge_A == pytest.approx(told["charge_A"], rel=1e-9)
    assert "alternator not limited" in found.wiring.reasons
    notes = " ".join(alternator_notes(found))
    assert "14.2 volts" in notes and "Its rated current is not stated" in notes
    assert "charge voltage the maker allows is not recorded" in notes
    assert ALTERNATOR in cautions(found)


def test_a_rating_and_the_makers_limits_are_laid_beside_it(answer):
    stated = STURDY.replace(
        'capacity = "100 Ah"', 'capacity = "100 Ah"\ncharge_voltage = "14.0 V"\ncharge_current = "50 A"'
    )
    found = answer(OUTING + DIRECT + 'alternator_current = "70 A"\n', stated)
    notes = " ".join(alternator_notes(found))
    uneven = " ".join(alternator_notes(answer(OUTING + DIRECT + 'alternator_current = "73 A"\n', stated)))
    assert "87 A or less" in uneven  # 87.6 A at the most: a fuse of 88 A is more than that
    assert "runs flat out" in notes and "84 A or less" in notes  # 1.2 x 70 A, 33 CFR 183.460
    assert (
        "above the 14.0 volts" in notes and "more than the charge current its maker states, 50 amps" in notes
    )


def test_one_set_too_low_charges_nothing(answer):
    found = answer(OUTING + 'alternator_voltage = "12.9 V"\n')
    assert found.wiring is not None and found.wiring.charge_A is None
    assert any("does not charge" in text for text in alternator_notes(found))


def test_without_one_nothing_is_told(answer):
    found = answer(OUTING)
    assert alternator_notes(found) == [] and alternator_json(found) is None
    assert ALTERNATOR not in cautions(found)


@pytest.mark.parametrize(
    ("lines", "key"),
    [
        ('alternator_current = "70 A"\n', "alternator_current"),
        (DIRECT + 'charge_current = "30 A"\n', "alternator_voltage"),
    ],
)
def test_half_an_alternator_or_two_charges_are_refused(tmp_path, lines, key):
    with pytest.raises(InputRefused) as caught:
        read_need(tmp_path, OUTING + lines)
    assert [problem.key for problem in caught.value.problems] == [f"wiring.{key}"]
