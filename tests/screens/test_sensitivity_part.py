"""The part of the first screen that moves every input shows the numbers of the command."""

import functools
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from planner.explain.sensitivity_answer import sensitivity_json
from planner.outing.reader import read_outing
from planner.record.reader import read_record
from planner.screens import choosing
from planner.screens.answering import Asked
from planner.screens.plain_text import plain
from planner.verdict.sensitivity import find_sensitivity

ROOT = Path(__file__).resolve().parent.parent.parent
FEW_DRAWS = 60  # the page asks for 500


def test_the_swings_are_those_of_the_command(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(choosing, "Asked", functools.partial(Asked, draws=FEW_DRAWS))
    page = AppTest.from_file(str(ROOT / "app.py"), default_timeout=60)
    page.run()
    page.selectbox(key="battery_chosen").set_value("unit_three")
    page.selectbox(key="outing_chosen").set_value("anchor_winch")
    page.run()
    assert not page.exception
    assert "Swings as JSON" not in [button.label for button in page.get("download_button")]
    page.button(key="do_sensitivity").click().run()
    assert not page.exception
    record = read_record(ROOT / "profiles" / "batteries" / "unit_three.toml")
    outing = read_outing(ROOT / "profiles" / "outings" / "anchor_winch.toml")
    told = sensitivity_json(find_sensitivity(record, outing, draws=FEW_DRAWS))
    assert plain(told["sentence"]) in [block.value for block in page.markdown]
    page.session_state["numbers_sensitivity"] = True  # the chart's own box, opened
    page.run()
    table = next(frame.value for frame in page.dataframe if "Swing (h)" in frame.value)
    assert list(table["Input"]) == [row["name"] for row in told["inputs"]]
    # the table shows thousandths of an hour
    assert list(table["Swing (h)"]) == pytest.approx([row["swing_h"] for row in told["inputs"]], abs=0.000501)
    assert list(table["Verdict at its low end"]) == [row["verdict_low"] for row in told["inputs"]]
