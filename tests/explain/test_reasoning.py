"""The chain from measurement to verdict, over the invented demo data."""

from __future__ import annotations

import re

import pytest

from planner.explain.answer import fit_json, fit_text
from planner.explain.reasoning import MEASUREMENTS, chain_text, chains
from planner.outing.schema import QUESTIONS
from tests.explain.demo import COMBINATIONS, assessed

every_pair = pytest.mark.parametrize("combination", COMBINATIONS, ids=lambda c: "-".join(map(str, c)))


def places(found):
    """Every test that the answer stands on, by the key that its file has it under, with the unit of a named bank."""
    if not found.batch.units:
        return places_of(found.record)
    return {f"{unit.name}: {place}" for unit in found.batch.units for place in places_of(unit)}


def places_of(record):
    tests = (*record.capacity_tests, *record.current_tests, *record.terminal_tests, *record.cold_charge_tests, *record.step_tests)
    return {test.at.place for test in tests}


def test_every_question_has_a_chain():
    assert set(MEASUREMENTS) == set(QUESTIONS)


@every_pair
def test_every_number_of_a_chain_is_traced_to_a_test_or_a_load(combination):
    found = assessed(*combination)
    assert [chain.check for chain in chains(found)] == list(found.checks)
    loads = {f"load.{number}" for number in range(1, len(found.outing.loads) + 1)}
    for chain in chains(found):
        for step in chain.of("measured"):
            known = places_of(found.record) if chain.check.id == "winter_charging" else places(found)
            assert step.origin in known or set(step.origin.split(", ")) <= known
        (needed,) = chain.of("needed")
        assert set(re.split(", | to ", needed.origin)) <= loads | {"get_home", "reserve", "wiring", "climate"}


@every_pair
def test_every_number_of_a_chains_text_stands_in_the_json(combination):
    found = assessed(*combination)
    for chain, told in zip(chains(found), fit_json(found)["why"], strict=True):
        amounts = [one for step in told["steps"] for one in step["amounts"] if one is not None]
        known = [one["value"] for one in amounts]
        known += [one["value"] * unit for one in amounts if one["unit"] == "h" for unit in (60.0, 3600.0)]  # min, s
        words = chain_text(chain)
        for unit in found.batch.units:
            words = words.replace(unit.name, "")
        words = re.sub(r"\b[a-z_]+\.\d+", "", words)  # keys of tests and loads
        for number in re.findall(r"-?\d[\d,]*\.?\d*(?:e[+-]\d+)?", words):
            value = float(number.replace(",", ""))
            # four digits, or whole numbers from a thousand up
            assert any(abs(value - one) <= max(6e-4 * abs(one), 1e-9) for one in known), (number, chain.check.id)


@every_pair
def test_room_is_what_is_counted_on_less_what_is_needed(combination):
    for told in fit_json(assessed(*combination))["why"]:
        if told["check"] in ("energy", "reserve"):
            amounts = {step["what"]: step["amounts"][0] for step in told["steps"] if step["amounts"] and step["what"] != "measured"}
            if all(amounts.get(what) for what in ("needed", "counted on", "room")):
                left = amounts["counted on"]["value"] - amounts["needed"]["value"]
                assert amounts["room"]["value"] == pytest.approx(left, rel=1e-9)


def test_the_chain_stands_in_the_text_from_the_test_to_the_verdict():
    text = " ".join(fit_text(assessed("unit_one", "trolling_day")).split())
    assert re.search(r"measured capacity_test\.1: 102\.1 Ah.* > needed .*load\.1.* > counted on .* > room .* > fits \[stated\]", text)


def test_a_number_of_a_banks_named_unit_is_not_told_as_the_asked_batterys():
    found = assessed("unit_two", "series_pair")
    told = {chain.check.id: [step.origin for step in chain.of("measured")] for chain in chains(found)}
    one, five = (f"{unit.name}: " for unit in found.batch.units)
    assert told["peak_current"] == [one + "capacity_test.2"]  # unit two has a single discharge
    assert {origin.split("capacity")[0] for origin in told["energy"]} == {one, five}
    assert all(origin.startswith((one, five)) for origin in told["terminal_heat"])
