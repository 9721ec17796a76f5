"""The bench page shows the figures of `log` and `audit`, and a foreign log's text stays text."""

import json
import re
from collections.abc import Callable
from pathlib import Path

from streamlit.testing.v1 import AppTest

from planner.record.log_summary import summarise_log
from planner.record.reader import read_record
from planner.screens.bench_view import log_view
from planner.screens.given import Upload
from planner.screens.log_says import LogSays
from planner.screens.reading import Refused
from planner.screens.state import OWN
from planner.verdict.audit import audit

PROFILES = Path(__file__).resolve().parent.parent.parent / "profiles"


def test_the_figures_and_the_tables_to_paste_are_those_of_the_command(
    open_page: Callable[..., AppTest],
) -> None:
    page = open_page("bench_page", battery_chosen="unit_one", log_chosen="bench_unit_one_invented.csv")
    summary = summarise_log(PROFILES / "logs" / "bench_unit_one_invented.csv")
    assert page.code[0].value.strip() == summary.to_text().strip()
    assert page.code[1].value.strip() == summary.to_toml().strip()
    found = audit(read_record(PROFILES / "batteries" / "unit_one.toml"))
    claims = next(frame.value for frame in page.dataframe if "Claim" in frame.value)
    assert len(claims) == len(found.claims)
    assert list(claims["Claim"])[:2] == ["Charge", "Energy"] and "Current for 4 seconds" in list(claims["Claim"])


def test_a_dropped_log_gives_what_the_file_on_disk_gives(open_page: Callable[..., AppTest]) -> None:
    page = open_page("bench_page", battery_chosen="unit_one", log_chosen=OWN)
    data = (PROFILES / "logs" / "bench_unit_one_invented.csv").read_bytes()
    page.get("file_uploader")[0].set_value(("../my <b>log</b>.csv", data, "text/csv"))
    page.run()
    assert not page.exception
    assert page.code[0].value.startswith("../my <b>log</b>.csv: 1763 rows")
    assert not any(block.allow_html for block in page.markdown)


def test_a_log_that_cannot_be_read_is_told_under_its_own_name() -> None:
    found = log_view(Upload("mine.csv", b"a,b\n1,2\n"), LogSays())
    assert isinstance(found, Refused)
    assert {problem.file for problem in found.problems} == {"mine.csv"}
    assert not any("upload" in f"{problem.value}{problem.fix}" for problem in found.problems)


def test_what_the_file_leaves_open_is_said_on_the_page(open_page: Callable[..., AppTest]) -> None:
    page = open_page("bench_page", battery_chosen="unit_one", log_chosen=OWN)
    rows = "".join(f"{20 - k / 10};{5 if k else 0}\n" for k in range(9))
    page.get("file_uploader")[0].set_value(("bare.csv", ("Pack;Current (A)\n" + rows).encode(), "text/csv"))
    page.run()
    assert any("voltage" in block.value for block in page.markdown)  # asked about: no heading of a voltage, no time
    page.text_input(key="log_column_voltage").set_value("Pack [V]")
    page.text_input(key="log_interval").set_value("2 s").run()
    assert not page.exception
    assert page.code[0].value.startswith("bare.csv: 9 rows, 16 s, one in 2 s")


def test_an_interval_without_unit_is_told_with_what_is_accepted() -> None:
    found = log_view(Upload("mine.csv", b"Voltage (V),Current (A)\n13,1\n13,2\n"), LogSays(interval="two"))
    assert isinstance(found, Refused)
    assert found.problems[0].key == "interval"


def test_no_key_of_a_file_is_shown_where_the_record_is_judged(open_page: Callable[..., AppTest]) -> None:
    page = open_page("bench_page", battery_chosen="unit_one")
    audit = next(block.value for block in page.code if block.value.startswith("AUDIT"))
    specs = [json.loads(chart.proto.spec) for chart in page.get("vega_lite_chart")]
    drawn = re.sub(r"\W+", " ", json.dumps(specs, ensure_ascii=False))  # a title is cut into lines
    assert "full discharge 1" in audit and "Current without a break: claimed 100 A" in audit
    assert "until the stop voltage was reached" in drawn
    assert re.findall(r"\b[a-z]+_[a-z_]+\b|\bdegC\b|ended by cutoff", audit) == []
    assert re.findall(r"\b[a-z]+_test\b|ended by cutoff", drawn) == []
