"""The answer as JSON and as text, over the invented demo data."""

from __future__ import annotations

import hashlib
import json
import math
import re
from dataclasses import replace

import pytest

from planner import __version__
from planner.explain.answer import fit_json, fit_text
from planner.explain.layout import COLUMNS
from planner.outing.schema import QUESTIONS, Outing
from planner.verdict.assess import assess
from planner.verdict.check import WORST_FIRST
from tests.explain.demo import COMBINATIONS, PROFILES, assessed
from tests.explain.wording import forbidden_in

TOP = ["verdict", "battery", "outing", "digest", "version", "seed", "draws", "checks", "runtime", "peak_current", "wiring",
       "bank", "winter", "units", "why", "cautions", "warnings"]  # fmt: skip
# "figures" stands beside the contract's keys: the numbers that the check's sentences are made of
CHECK = ["id", "verdict", "evidence", "need", "capability", "capability_centre", "margin", "reason", "limit", "settled_by",
         "figures"]  # fmt: skip
RUNTIME = ["nominal_h", "p10_h", "p50_h", "p90_h", "needed_h", "ended_by", "completes_probability", "charge_used_Ah",
           "energy_used_Wh", "min_voltage_V", "final_temperature_degC"]  # fmt: skip
PEAK = ["current_A", "duration_s", "zone", "margin_A", "points"]
WIRING = ["gauge", "area_mm2", "loop_length_m", "conductor_mohm", "resistance_mohm", "current_A", "ampacity_A",
          "ampacity_source", "drop_V", "drop_percent", "drop_base_V", "fuse_A", "fuse_ok", "fuse_low_A", "fuse_high_A",
          "fuse_nuisance", "fuse_legal_max_A", "peak_A", "min_load_voltage_V", "short_circuit_A", "short_circuit_end_A",
          "verdict"]  # fmt: skip
BRANCH = [
    "unit",
    "lead_mohm",
    "start_charge",
    "first_A",
    "at_60s_A",
    "steady_A",
    "max_A",
    "charge_Ah",
    "zone",
]
WINTER = {"verdict", "checks", "hours_offered", "hours_blocked", "charge_lost_Ah", "exposed_hours", "coldest_cell_degC",
          "days_dark", "months", "charge_missed_Ah", "unserved_Ah", "hours_hot"}  # fmt: skip


@pytest.mark.parametrize("combination", COMBINATIONS, ids=lambda c: "-".join(map(str, c)))
def test_every_demo_answer_keeps_keys_wording_and_width(combination):
    found = assessed(*combination)
    answer, text = fit_json(found), fit_text(found)
    json.dumps(answer, allow_nan=False)  # raises on NaN and infinity
    assert list(answer) == TOP
    assert answer["verdict"] in WORST_FIRST
    for check in answer["checks"]:
        assert list(check) == CHECK
        assert check["id"] in QUESTIONS
        assert (check["verdict"] == "fits with limits") <= (check["limit"] is not None)
    assert max(len(line) for line in text.splitlines()) <= COLUMNS
    assert forbidden_in(text) == []
    assert forbidden_in(" ".join(check["reason"] for check in answer["checks"])) == []
    assert "We tested one unit" in text


@pytest.mark.parametrize("combination", COMBINATIONS, ids=lambda c: "-".join(map(str, c)))
def test_not_proven_names_what_would_settle_it(combination):
    for check in assessed(*combination).checks:
        if check.verdict == "not proven":
            assert check.settled_by is not None, check.id


@pytest.mark.parametrize("combination", COMBINATIONS, ids=lambda c: "-".join(map(str, c)))
def test_every_number_of_a_reason_stands_in_the_json(combination):
    for check in fit_json(assessed(*combination))["checks"]:
        known = _numbers([check["figures"], check["need"], check["capability"]])
        if check["id"] != "bank":  # its currents stand in the section "bank"
            for sentence in (check["reason"], check["limit"], check["settled_by"]):
                for number, step in _told(sentence or ""):
                    assert any(abs(number - value) <= step * (1.0 + 1e-9) for value in known), (
                        number,
                        sentence,
                    )


def _told(text: str) -> list[tuple[float, float]]:
    """Amps, amp-hours, volts, degrees and hours of a sentence, each with the step it was rounded by."""
    found = [(float(n.replace(",", "")), 1.0) for n in re.findall(r"([\d,.]+) (?:amps?|amp-hours?)\b", text)]
    found += [(float(n), 0.1) for n in re.findall(r"([\d.]+) volts", text)]
    return found + [
        (float(n), 1.0) for n in re.findall(r"(-?\d+) °C", text) if n != "5"
    ]  # 5 degC: the advice itself


def _numbers(value: object) -> list[float]:
    """Every number of a JSON value; what a meter's error takes off or leaves is a number of it too."""
    if isinstance(value, dict):
        found = [n for part in value.values() for n in _numbers(part)]
        if "error_A" in value:
            found.append(value["current_A"] - value["error_A"])
        return found
    if isinstance(value, list):
        return [n for part in value for n in _numbers(part)]
    return [float(value)] if isinstance(value, int | float) and not isinstance(value, bool) else []


def test_the_sections_have_the_contracts_keys():
    answer = fit_json(assessed("unit_one", "bank_motor", "cold-lake"))
    assert list(answer["runtime"]) == RUNTIME
    assert list(answer["peak_current"]) == PEAK
    assert set(answer["peak_current"]["points"][0]) == {"current_A", "duration_s", "zone", "basis"}
    assert list(answer["wiring"])[: len(WIRING)] == WIRING
    assert {"charge_A", "charge_drop_V", "gives_first", "links", "inrush", "cheapest_change", "alternator"} <= set(
        answer["wiring"]
    )
    assert answer["wiring"]["gives_first"] == answer["wiring"]["links"][0]["link"]
    assert set(answer["bank"]) == {
        "parallel",
        "series",
        "load_A",
        "imbalance_percent",
        "branches",
        "loses_one",
        "verdict",
        "joining",
        "strings",
    }
    assert [list(branch) for branch in answer["bank"]["branches"]] == [BRANCH, BRANCH]
    assert {"lost", "verdict", "survivor_A", "zone", "shed_to_A"} <= set(answer["bank"]["loses_one"][0])
    assert set(answer["winter"]) >= WINTER
    assert len(answer["winter"]["months"]) == 12
    assert answer["version"] == __version__


def test_sections_without_input_are_null():
    answer = fit_json(assessed("unit_one", "kayak_evening"))
    assert answer["wiring"] is None
    assert answer["bank"] is None
    assert answer["winter"] is None


def test_branch_currents_of_the_answer_sum_to_its_load():
    bank = fit_json(assessed("unit_one", "bank_motor"))["bank"]
    # Kirchhoff: exact up to rounding of the solver
    assert math.isclose(sum(branch["first_A"] for branch in bank["branches"]), bank["load_A"], rel_tol=1e-6)


def test_an_outing_that_draws_nothing_has_no_runtime_and_no_peak():
    found = assessed("unit_one", "kayak_evening")
    idle = Outing("Idle (invented)", 3600.0, 293.15, 293.15, found.outing.loads[:0])
    answer = fit_json(assess(found.record, idle, None, 4))
    assert answer["runtime"]["nominal_h"] is None
    assert answer["peak_current"] is None
    assert answer["digest"] is None
    assert "draws no current" in fit_text(assess(found.record, idle, None, 4))


def test_the_digest_is_of_record_outing_climate_and_the_files_they_name():
    folder = PROFILES
    parts = ["batteries/unit_one.toml", "outings/kayak_evening.toml", "climates/cold-lake.toml"]
    found = assessed("unit_one", "kayak_evening", "cold-lake")
    named = [*found.record.files, *found.outing.files, *found.climate.files]
    data = b"".join((folder / part).read_bytes() for part in parts) + b"".join(
        path.read_bytes() for path in named
    )
    assert fit_json(found)["digest"] == hashlib.sha256(data).hexdigest()


def test_a_file_that_a_unit_of_a_bank_names_is_in_the_digest(tmp_path):
    def told(reading):
        note = tmp_path / "reading.csv"
        note.write_text(reading, encoding="utf-8")
        found = assessed("unit_one", "series_pair")
        own = tuple(replace(unit, files=(note,)) for unit in found.batch.units)
        return fit_json(replace(found, batch=replace(found.batch, units=own)))["digest"]

    assert told("1") == told("1") != told("2")


def test_the_verdict_stands_first_and_the_evidence_last():
    found = assessed("unit_one", "trailer_weekend")
    lines = fit_text(found).splitlines()
    assert lines[0].startswith(found.verdict.upper())
    last = lines[lines.index("Evidence") + 1 :]
    assert all(line.startswith(("- ", "  ")) for line in last)  # its items, and no heading after it
    assert "How far a test speaks" in last[0]
    assert f"{found.draws} draws, seed {found.seed}, version {__version__}" in " ".join(lines[-5:])


def test_which_end_of_a_range_is_the_worse_is_said():
    text = " ".join(fit_text(assessed("unit_one", "trolling_day")).split())
    assert "in eight outings of ten like this one. The lower figure is the worse end" in text


def test_which_load_matters_most_and_how_it_is_known_is_said():
    # the motor's spread of this outing outweighs the unit's: its draw is what the buyer should doubt first
    text = " ".join(fit_text(assessed("unit_one", "trolling_day", draws=100)).split())
    assert "This depends mostly on what 'bow motor' draws, which was measured." in text
