"""Every code of the verdict room has a sentence, and no sentence says what one tested unit cannot show."""

from __future__ import annotations

import ast
import re
import typing
from pathlib import Path

import pytest

import planner.verdict
from planner.battery.current_evidence import Pass, Trip
from planner.explain.energy_sentences import PARAMETERS, parameter
from planner.explain.next_test_sentences import REASONS as REASONS_FOR_TESTS
from planner.explain.peak_sentences import RECOVERY
from planner.explain.sentences import SENTENCES, sentence
from planner.install.circuit import Reason
from planner.verdict.bank_check import Branch, Loss
from planner.verdict.check import Told
from planner.winter import judge
from tests.explain.demo import COMBINATIONS, assessed
from tests.explain.wording import forbidden_in

VERDICT_ROOM = Path(planner.verdict.__path__[0])
VERDICTS = ("fits", "fits_with_limits", "does_not_fit", "not_proven")
REASONS = typing.get_args(Reason)
WINTER_WORDS = (judge.EXPOSED_TESTED, judge.EXPOSED_MAYBE, judge.DARK, judge.DARK_MAYBE, judge.BLOCKED, judge.FREE,
                *judge.NO_CHARGE)  # fmt: skip
# Questions that `assess` can be asked without input for them.
ASKED_IN_VAIN = re.findall(r'\b_missing\("(\w+)"', (VERDICT_ROOM / "assess.py").read_text(encoding="utf-8"))
# What a code that is put together at run time may become, by the expression that makes it.
MADE = {
    "f\"energy_{verdict.replace(' ', '_')}\"": [f"energy_{verdict}" for verdict in VERDICTS],
    # a reserve is never open by itself: it takes over the open energy check's own reason
    "f\"reserve_{verdict.replace(' ', '_')}\"": [f"reserve_{verdict}" for verdict in VERDICTS[:3]],
    "f'{name}_missing'": [f"{name}_missing" for name in ASKED_IN_VAIN],
    "f'enter_{name}'": [f"enter_{name}" for name in ASKED_IN_VAIN],
    "'wiring_' + (result.reasons[0].replace(' ', '_') if result.reasons else 'fits')": [
        "wiring_fits",
        *("wiring_" + reason.replace(" ", "_") for reason in REASONS),
    ],
    "'winter_' + verdict.reason": ["winter_" + word for word in WINTER_WORDS],
    "verdict.settled_by": ["cold_charge", "cold_charge_warming", judge.STATE_CHARGER],
    "'winter_no_charger_limit' if no_charger else 'winter_limit'": ["winter_no_charger_limit", "winter_limit"],
    "'peak_' + zone.name.replace(' ', '_')": ["peak_untested", "peak_within_meter_error"],
}
INSIDE = {"energy"}  # a stand-in that energy_check replaces before anyone sees it


def _constants(node: ast.expr) -> set[str]:
    """Whole codes among the text constants of an expression; pieces that end in "_" are not codes."""
    found = {n.value for n in ast.walk(node) if isinstance(n, ast.Constant) and isinstance(n.value, str)}
    return {text for text in found if re.fullmatch(r"[a-z]+(_[a-z]+)+", text)}


def _given_to_code(node: ast.Assign) -> list[ast.expr]:
    """What an assignment gives to the name `code`."""
    target, value = node.targets[0], node.value
    if isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
        pairs = list(zip(target.elts, value.elts, strict=True))
    else:
        pairs = [(target, value)]
    return [given for name, given in pairs if isinstance(name, ast.Name) and name.id == "code"]


def _codes_of(path: Path) -> set[str]:
    """Every code that a module of the verdict room gives to Told."""
    found: set[str] = set()
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign):
            for given in _given_to_code(node):
                found |= _constants(given)
                found |= {code for key in MADE if key in ast.unparse(given) for code in MADE[key]}
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Told":
            first = node.args[0]
            if isinstance(first, ast.Constant):
                found.add(first.value)
            elif not (isinstance(first, ast.Name) and first.id == "code"):
                found |= set(
                    MADE[ast.unparse(first)]
                )  # KeyError: a new way of making codes, say what it makes
    return found


# What to test next has a table of its own: the same words mean a reason against a test there.
NEXT_TEST = sorted(VERDICT_ROOM.glob("next_*.py"))
CODES = sorted(
    set().union(*(_codes_of(path) for path in VERDICT_ROOM.glob("*.py") if path not in NEXT_TEST)) - INSIDE
)


def test_the_source_gives_away_its_codes():
    # seen in the source by eye; were the walk blind, the tests below would pass without looking
    assert {"energy_fits", "peak_conflict", "heat_close", "inverter_no_wiring", "series_unknown"} <= set(
        CODES
    )
    assert {"inverter_missing", "enter_reserve"} <= set(CODES)
    assert len(CODES) > 60


@pytest.mark.parametrize("code", CODES)
def test_every_code_of_the_verdict_room_has_a_sentence(code):
    told_in = "add it to SENTENCES of one of the modules planner/explain/*_sentences.py"
    assert code in SENTENCES, told_in


def test_every_code_of_what_to_test_next_has_a_reason():
    codes = set().union(*(_codes_of(path) for path in NEXT_TEST))
    assert "discharge" in codes
    assert codes <= set(REASONS_FOR_TESTS)


def test_no_sentence_is_left_that_nobody_says():
    assert set(SENTENCES) - set(CODES) == set()


def test_an_unknown_code_is_an_error_and_not_a_guess():
    with pytest.raises(KeyError):
        sentence(Told("no_such_code"))


HELD = Pass(150.0, 3.5, 60.0, 298.15, "current_test.1", "hold")
OPENED = Trip(100.0, 2.5, 580.0, "current_test.2")
PEAK = {"current_a": 100.0, "duration_s": 1200.0, "basis": "run", "zone": "trips", "by": OPENED, "recovery": "unknown",
        "entries": (OPENED, HELD), "coldest_k": 288.15, "warmest_k": 298.15, "hides_s": 0.0}  # fmt: skip
HEAT = {"worst_k": 361.0, "limit_k": 348.15, "steady_k": 358.0, "rms_a": 90.0, "upper_k": 365.0, "tested_a": 100.0,
        "ambient_k": 298.15}  # fmt: skip
CABLE = {"gauge": "AWG 6", "current_A": 110.0, "ampacity_A": 120.0, "fuse_A": 150.0, "fuse_low_A": 137.5, "fuse_from_A": 137.5, "charge_A": 30.0, "drop_V": 1.4,
         "drop_base_V": 12.8, "reasons": REASONS, "conductor": "AWG 2", "suggested_fuse_A": 150.0}  # fmt: skip
INVERTER = {"load": "kettle", "cutout_v": 11.5, "needed_rest_v": 12.6, "share": 0.7, "time_s": 1464.0, "soc": 0.66, "wired": True,
            "needed_s": 2700.0, "start_soc": 0.5, "start_used_c": 180000.0, "cure": {"conductor": "AWG 1/0"}}  # fmt: skip
BRANCH = Branch(1, 1.2e-3, 0.9, 102.9, 100.3, 98.1, 102.9, 59400.0, "within meter error")
LOSS = Loss(1, "does not fit", 180.0, "trips", 99.5, True)
BANK = {
    "load_a": 180.0,
    "imbalance": 0.14,
    "zone": "untested",
    "branches": (BRANCH, BRANCH),
    "losses": (LOSS,),
    "series": 1,
    "even_a": 90.0,
    "alike": True,
    "others": True,
}
WINTER = {"blocked_low": 933.0, "blocked_high": 1160.0, "offered": 2190.0, "dark_low": 132.0, "dark_high": 168.0,
          "exposed_low": 0.0, "exposed_high": 830.0, "coldest_k": 258.45, "months": (1, 2, 11, 12),
          "months_free": (6, 7), "blocks": False, "block_k": 273.95, "resume_k": 279.15, "cold_hours": 830.0,
          "stated": False}  # fmt: skip
ENERGY = {"need_c": 67.1 * 3600.0, "p10_c": 98.8 * 3600.0, "completes": 0.82, "reserve_c": 113400.0, "warm_c": 372240.0,
          "charge_c": 67.3 * 3600.0, "counter_c": 67.3 * 3600.0, "time_s": 10745.0, "way_home": True, "mean_a": 120.0,
          "shown_a": 100.2, "name": "diffusion_tau_s", "cell_k": 264.15}  # fmt: skip
AUDIT = {"held_a": 150.0, "held_s": 60.0, "trip_a": 140.0, "trip_s": 10.0, "low_a": 20.0, "low_c": 36000.0, "high_a": 100.0,
         "high_c": 37000.0, "u_c": 100.0, "cold_k": 263.15, "cold_a": 20.0, "warm_k": 298.15, "warm_a": 50.0,
         "charge_c": 36000.0, "energy_j": 1e6, "mean_v": 15.0, "rest_s": 60.0, "cell": 2, "low_v": 2.4, "high_v": 3.0,
         "sum_v": 12.0, "end_v": 10.0}  # fmt: skip


def _sample(code: str) -> dict[str, object]:
    """Invented parts for any code: the peak's and the terminals' own currents win over the energy's."""
    parts = {**AUDIT, **WINTER, **ENERGY, **BANK, **CABLE, **INVERTER, **HEAT, **PEAK}
    if code in ("energy_limit", "turn_back"):
        parts["time_s"] = ENERGY["time_s"]
    if code == "peak_demonstrated":
        parts["by"] = HELD
    return parts


@pytest.mark.parametrize("code", sorted(set(SENTENCES)))
def test_every_sentence_can_be_said_and_keeps_to_the_wording(code):
    text = sentence(Told(code, _sample(code)))
    assert text[0].isupper() or not text[0].isalpha()
    assert text.rstrip()[-1] in ".?"
    assert "  " not in text
    assert forbidden_in(text) == []


def test_does_not_fit_names_the_measurement_and_how_the_unit_comes_back():
    # the wording of a trade sheet: reading, time as measured, then the need
    assert sentence(Told("peak_trips", PEAK)) == (
        "At 100 amps this unit switched off after 9 minutes 40 seconds. You need 100 amps for 20 minutes. "
        + RECOVERY["unknown"]
    )


@pytest.mark.parametrize("code", ["peak_trips", "peak_conflict", "peak_within_meter_error", "peak_untested"])
@pytest.mark.parametrize("recovery", sorted(RECOVERY))
def test_how_the_unit_comes_back_is_told_wherever_a_peak_is_not_shown(code, recovery):
    assert RECOVERY[recovery] in sentence(Told(code, {**PEAK, "recovery": recovery}))


def test_not_proven_is_not_bad():
    for code in ("peak_untested", "no_capacity", "beyond_rate", "cold_not_proven", "heat_unknown"):
        text = sentence(Told(code, _sample(code)))
        assert "may well do" in text
        assert "would not rely on it until tested" in text


def test_a_limit_stands_in_the_buyers_own_controls():
    # 67.3 Ah down to 67; 10,745 s is 2 h 59 min, down to 2 h 55
    assert sentence(Told("turn_back", ENERGY)) == (
        "Turn back when the counter, zeroed when the battery is full, shows 67 amp-hours used, or after 2 h 55 min by "
        "the clock if you have no counter. Past that point we cannot count on the trip home."
    )


def test_an_inverter_cutout_is_not_blamed_on_the_battery():
    text = sentence(Told("inverter_cuts_out", INVERTER))
    assert "two-thirds full" in text
    assert "do not send it back" in text
    assert (
        sentence(Told("inverter_cure", {"cure": {"conductor": "AWG 1/0"}}))
        == "It stays on with cable AWG 1/0 or thicker."
    )


def test_an_inverter_that_gives_up_on_an_empty_battery_is_not_told_as_a_cable_fault():
    text = sentence(Told("inverter_cuts_out", {**INVERTER, "soc": 0.05}))
    assert "send it back" not in text
    assert "nearly empty" in text


def test_winter_is_told_in_hours_of_every_hundred_and_in_months():
    text = sentence(Told("winter_blocked_hours", WINTER))
    assert "933 to 1,160 hours of 2,190 hours" in text
    assert "42 to 53 of every 100" in text
    assert "November to February" in text


def test_every_reason_against_a_cable_is_told_not_only_the_first():
    text = sentence(Told("wiring_current_above_ampacity", {**CABLE, "reasons": REASONS[:2]}))
    assert "may carry 120 amps" in text
    assert "before the fuse opens" in text


def test_every_parameter_of_the_model_has_words():
    names = {name for combination in COMBINATIONS[::9] for name in assessed(*combination).fitted.plan.names}
    assert all(parameter(name) for name in names)
    assert parameter("pair_ohm_1") == PARAMETERS["pair_ohm"][0]


@pytest.mark.parametrize(
    ("cells", "told"),
    [
        ({"warmest_k": 318.15}, "but with the battery inside at 25 °C, and in your plan it gets to 45 °C."),
        ({"coldest_k": 261.15}, "but with the battery inside at 25 °C, and in your plan it gets to -12 °C."),
        ({}, "but with a fuller battery, or further above the voltage at which your plan stops."),
    ],
)
def test_a_test_that_does_not_speak_for_the_cells_of_the_plan_is_told_with_its_own(cells, told):
    assert f"One test carried as much, {told}" in sentence(Told("peak_untested", {**PEAK, **cells}))
    assert "One test" not in sentence(Told("peak_untested", {**PEAK, **cells, "entries": ()}))
