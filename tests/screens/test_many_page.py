"""The page of many answers has the rows of the commands `sweep` and `fleet`. Demo data, invented."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from planner.cli import main
from planner.screens.answering import Asked
from planner.screens.given import Given, Upload
from planner.screens.many_view import MOST_ROWS, ManyView, fleet_view, sweep_view
from planner.screens.reading import Choices, Refused, worked

PROFILES = Path(__file__).resolve().parent.parent.parent / "profiles"
UNIT = PROFILES / "batteries" / "unit_one.toml"
OUTINGS = {name: PROFILES / "outings" / f"{name}.toml" for name in ("kayak_evening", "anchor_winch")}
LABELS = {"kayak_evening": "Kayak evening", "anchor_winch": "Anchor winch day"}
ASKED = Asked(Given(UNIT), Given(OUTINGS["kayak_evening"]), None)
VARY = "ambient=5 degC:25 degC:3"


def answered(chosen: list[str], upload: Upload | None) -> ManyView | Refused:
    """The buyers answered by the first battery."""
    return worked(
        Choices((ASKED.battery,)),
        lambda inputs: fleet_view(inputs, OUTINGS, chosen, upload, lambda done, rows: None, LABELS),
    )


def test_the_rows_of_a_sweep_are_those_of_the_command(capsys) -> None:
    steps = []
    found = sweep_view(ASKED, [VARY], None, lambda done, rows: steps.append((done, rows)))
    assert isinstance(found, ManyView)
    assert main(["sweep", "kayak_evening", "unit_one", "--vary", VARY]) == 0
    assert found.csv_text == capsys.readouterr().out
    assert steps == [(3, 3)]


def test_a_sweep_that_cannot_be_is_refused_with_its_reason() -> None:
    for varied, word in (
        ("ambiant=5 degC:25 degC:3", "ambient"),
        (f"ambient=5 degC:25 degC:{MOST_ROWS + 1}", "command"),
    ):
        found = sweep_view(ASKED, [varied], None, lambda done, rows: None)
        assert isinstance(found, Refused)
        assert word in str(found.problems[0])
        assert "--vary" not in str(found.problems[0])  # that is the command's
    draft = Given(main=Upload("draft", OUTINGS["kayak_evening"].read_bytes()), folder=PROFILES / "outings")
    unsaved = sweep_view(Asked(ASKED.battery, draft, None), [VARY], None, lambda done, rows: None)
    assert isinstance(unsaved, Refused)
    assert "Save it in the library" in unsaved.problems[0].fix


def test_the_buyers_are_those_of_the_command_from_files_and_from_a_table(tmp_path, capsys) -> None:
    table = "buyer,outing,ambient (degC)\nAnn (invented),kayak_evening,4\nBo (invented),kayak_evening,400\n"
    for chosen, upload in ((list(OUTINGS), None), ([], Upload("buyers.csv", table.encode()))):
        found = answered(chosen, upload)
        assert isinstance(found, ManyView)
        folder = tmp_path / ("table" if upload else "files")
        folder.mkdir()
        for name, path in OUTINGS.items():
            (folder / f"{name}.toml").write_bytes(path.read_bytes())
        (folder / "buyers.csv").write_text(table.replace("kayak_evening", "kayak_evening.toml"))
        assert main(["fleet", str(UNIT), str(folder / "buyers.csv" if upload else folder), "--json"]) == 0
        told = json.loads(capsys.readouterr().out)
        assert found.finding == f"It fits {told['fit']} of {told['buyers']} buyers"
        verdicts = {LABELS.get(row["buyer"], row["buyer"]): row["verdict"] or "outing refused" for row in told["rows"]}
        assert dict(zip(found.table["Buyer"], found.table["Verdict"], strict=True)) == verdicts
        assert len(list(csv.reader(found.csv_text.splitlines()))) == 3
    assert str(PROFILES) not in "".join(found.table["Why"])


@pytest.mark.parametrize("named", ["../../outside", "/etc/passwd", "no_such"])
def test_a_table_names_nothing_but_the_librarys_outings(named) -> None:
    upload = Upload("buyers.csv", f"outing\n{named}\n".encode())
    found = answered([], upload)
    assert isinstance(found, Refused)
    assert (found.problems[0].file, found.problems[0].key) == ("buyers.csv", "row 2")
    assert "kayak_evening" in found.problems[0].allowed


def test_the_page_works_out_what_it_is_asked(open_page: Callable[..., AppTest]) -> None:
    page = open_page("many_page", battery_chosen="unit_one", outing_chosen="kayak_evening")
    page.text_area(key="sweep_ranges").set_value(VARY)
    page.multiselect(key="fleet_outings").set_value(["kayak_evening"])
    page.button(key="do_sweep").click().run()
    page.button(key="do_fleet").click().run()
    assert not page.exception
    shown = [block.value for block in page.markdown]
    assert any(text.startswith("**It fits in 3 of 3 rows.**") for text in shown)
    assert any(text.startswith("**It fits 1 of 1 buyers.**") for text in shown)
    assert [len(frame.value) for frame in page.dataframe] == [3, 1]
    page.text_area(key="sweep_ranges").set_value("ambient=5 degC").run()
    assert [len(frame.value) for frame in page.dataframe] == [1]  # other ranges were not worked out
