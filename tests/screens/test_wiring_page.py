"""The page of cable and fuse shows the answer's own figures, and another cable moves its verdict."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from planner.explain.chain_table import chain_of
from planner.install.conductor import awg_area_m2, awg_name
from planner.outing.reader import read_outing
from planner.record.reader import read_record
from planner.verdict.assess import assess

ROOT = Path(__file__).resolve().parent.parent.parent
PROFILES = ROOT / "profiles"


def test_the_chain_ends_at_the_lowest_voltage_the_load_sees(open_page: Callable[..., AppTest]) -> None:
    page = open_page("wiring_page", battery_chosen="unit_one", outing_chosen="inverter_kitchen")
    judged = assess(
        read_record(PROFILES / "batteries" / "unit_one.toml"),
        read_outing(PROFILES / "outings" / "inverter_kitchen.toml"),
    )
    assert judged.wiring is not None
    table = page.dataframe[0].value
    # the table shows hundredths of a volt
    assert table["After it (V)"].iloc[-1] == pytest.approx(judged.wiring.min_load_voltage_V, abs=0.005001)
    assert page.header[0].value.endswith(judged.wiring.verdict)
    links = chain_of(judged)
    lost = sum(link.lost_v or 0.0 for link in links)
    assert links[0].volts - lost == pytest.approx(links[-1].volts)


def test_a_thin_cable_turns_the_verdict_to_that_of_the_judge(open_page: Callable[..., AppTest]) -> None:
    page = open_page("wiring_page", battery_chosen="unit_one", outing_chosen="inverter_kitchen")
    page.selectbox(key="tried_gauge").set_value(awg_name(12)).run()
    assert not page.exception
    outing = read_outing(PROFILES / "outings" / "inverter_kitchen.toml")
    assert outing.wiring is not None
    thin = replace(outing, wiring=replace(outing.wiring, size=awg_name(12), area_m2=awg_area_m2(12)))
    judged = assess(read_record(PROFILES / "batteries" / "unit_one.toml"), thin)
    assert judged.wiring is not None and judged.wiring.verdict == "does not fit"
    assert page.header[0].value.endswith("does not fit")
    assert any(block.value.startswith("As entered") for block in page.markdown)


def test_a_bank_shows_the_current_of_each_unit(open_page: Callable[..., AppTest]) -> None:
    page = open_page("wiring_page", battery_chosen="unit_one", outing_chosen="bank_motor")
    assert len(page.get("vega_lite_chart")) == 1
    page.session_state["numbers_branches"] = True
    page.run()
    assert list(page.dataframe[1].value.columns)[1:] == ["Unit 1 (A)", "Unit 2 (A)"]


def test_an_outing_without_a_cable_is_told_so(open_page: Callable[..., AppTest]) -> None:
    bare = next(path for path in (PROFILES / "outings").glob("*.toml") if read_outing(path).wiring is None)
    page = open_page("wiring_page", battery_chosen="unit_one", outing_chosen=bare.stem)
    assert page.header[0].value == "Cable and fuse: not entered"
    page.selectbox(key="tried_gauge").set_value(awg_name(4)).run()
    assert any("there is none to change" in block.value for block in page.markdown)


def test_the_table_leaves_no_cell_to_guess_at_and_names_the_unit_that_carries_most(
    open_page: Callable[..., AppTest],
) -> None:
    page = open_page("wiring_page", battery_chosen="unit_one", outing_chosen="bank_motor")
    table = page.dataframe[0].value.set_index("Link")
    assert not table.isna().any().any()
    assert list(table.index) == ["Battery", "Lead", "Fuse", "Cable", "Contacts", "Load"]
    # the lead of the unit that carries most, 0.9 mohm, takes what lies between its own volts and the bus
    lost = table.loc["Battery", "After it (V)"] - table.loc["Lead", "After it (V)"]
    assert lost == pytest.approx(
        0.9e-3 * table.loc["Lead", "Through it (A)"], abs=0.011
    )  # hundredths of a volt
    assert table.loc["Battery", "Through it (A)"] < table.loc["Cable", "Through it (A)"]
    assert "To know about the bank" in [part.value for part in page.header]


def test_units_a_bank_names_are_read_as_the_command_reads_them(open_page: Callable[..., AppTest]) -> None:
    page = open_page("wiring_page", battery_chosen="unit_one", outing_chosen="series_pair")
    told = " ".join(block.value for block in page.markdown)
    assert "In series the weakest unit ends the run" in told  # 102 Ah and 236 Ah by their own records
    assert "were not read apart" not in told
