"""The page of many answers has the rows of the commands `sweep` and `fleet`. Demo data, invented."""

from __future__ import annotations

import csv
import json
import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from planner.cli import main
from planner.library.store import Library
from planner.library.templates import TEMPLATES
from planner.screens.answering import Asked
from planner.screens.given import Given, Upload
from planner.screens.many_view import MOST_ROWS, ManyView, fleet_view, sweep_view
from planner.screens.ranges import FORMS, Range, Varied, numbers_of
from planner.screens.reading import Choices, Refused, worked
from planner.units import KINDS, accepted_units
from planner.verdict.vary import find_place, leaves, parse_vary

PROFILES = Path(__file__).resolve().parent.parent.parent / "profiles"
UNIT = PROFILES / "batteries" / "unit_one.toml"
OUTINGS = {name: PROFILES / "outings" / f"{name}.toml" for name in ("kayak_evening", "anchor_winch")}
LABELS = {"kayak_evening": "Kayak evening", "anchor_winch": "Anchor winch day"}
ASKED = Asked(Given(UNIT), Given(OUTINGS["kayak_evening"]), None)
VARY = "ambient=5 degC:25 degC:3"
AIR = Varied("ambient", "Air around the battery", "6 degC")
WARMER = Range(AIR, "5 degC", "25 degC", 3)


def answered(chosen: list[str], upload: Upload | None) -> ManyView | Refused:
    """The buyers answered by the first battery."""
    return worked(
        Choices((ASKED.battery,)),
        lambda inputs: fleet_view(inputs, OUTINGS, chosen, upload, lambda done, rows: None, LABELS),
    )


def test_the_rows_of_a_sweep_are_those_of_the_command(capsys) -> None:
    steps = []
    found = sweep_view(ASKED, [WARMER], None, lambda done, rows: steps.append((done, rows)))
    assert isinstance(found, ManyView)
    assert main(["sweep", "kayak_evening", "unit_one", "--vary", VARY]) == 0
    assert found.csv_text == capsys.readouterr().out
    assert steps == [(3, 3)]
    # what varies comes first: on a phone no more is in view
    assert list(found.table)[:2] == ["Air around the battery (°C)", "Verdict"]
    assert not [head for head in found.table if "_" in head]  # a file's keys and the command's heads are for files


@pytest.mark.parametrize(
    ("changed", "key", "word"),
    [
        ({"low": "5"}, "Air around the battery", "5 degC"),
        ({"high": ""}, "Air around the battery, to", "6 degC"),
        ({"low": "5 degC:9 degC"}, "Air around the battery, from", "one number"),
        ({"count": MOST_ROWS + 1}, "rows", "command"),
    ],
)
def test_a_sweep_that_cannot_be_is_refused_where_it_was_typed(changed, key, word) -> None:
    found = sweep_view(ASKED, [replace(WARMER, **changed)], None, lambda done, rows: None)
    assert isinstance(found, Refused)
    (problem,) = found.problems
    assert (problem.file, problem.key) == ("the ranges", key)
    assert word in str(problem)
    assert not {"--vary", "LOW", "KEY"} & set(str(problem).replace("=", " ").split())  # the command's words


def test_a_draft_is_not_swept_before_it_is_saved() -> None:
    draft = Given(main=Upload("draft", OUTINGS["kayak_evening"].read_bytes()), folder=PROFILES / "outings")
    unsaved = sweep_view(Asked(ASKED.battery, draft, None), [WARMER], None, lambda done, rows: None)
    assert isinstance(unsaved, Refused)
    assert "Save it in the library" in unsaved.problems[0].fix


def test_rows_that_cannot_be_answered_are_counted_and_tell_no_folder() -> None:
    length = Varied("duration", "How long the outing lasts", "6 h")
    found = sweep_view(ASKED, [Range(length, "1 h", "6 h", 2)], None, lambda done, rows: None)
    assert isinstance(found, ManyView)
    assert found.finding == "It fits in 1 of 2 rows; 1 could not be answered"
    told = "".join(filter(None, found.table["Why not answered"]))
    assert "kayak_evening.toml" in told
    assert str(PROFILES) not in told


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


@pytest.mark.parametrize("between", [";", "\t"])
def test_a_table_of_buyers_may_have_its_cells_apart_by_what_the_spreadsheet_writes(between: str) -> None:
    plain = "buyer,outing,ambient (degC)\nAnn,kayak_evening,4\n,,\nBo,kayak_evening,12\n"
    by_comma, other = (answered([], Upload("buyers.csv", plain.replace(",", each).encode())) for each in (",", between))
    assert isinstance(by_comma, ManyView) and isinstance(other, ManyView)
    assert other.json_text == by_comma.json_text and len(other.table) == 2


@pytest.mark.parametrize("named", ["../../outside", "/etc/passwd", "no_such"])
def test_a_table_names_nothing_but_the_librarys_outings(named) -> None:
    upload = Upload("buyers.csv", f"outing\n{named}\n".encode())
    found = answered([], upload)
    assert isinstance(found, Refused)
    assert (found.problems[0].file, found.problems[0].key) == ("buyers.csv", "row 2")
    assert "kayak_evening" in found.problems[0].allowed


def test_the_page_works_out_what_it_is_asked(open_page: Callable[..., AppTest]) -> None:
    page = open_page("many_page", battery_chosen="unit_one", outing_chosen="kayak_evening")
    page.text_input(key="sweep_From_ambient").set_value("5 degC")
    page.number_input(key="sweep_count_ambient").set_value(3)
    page.multiselect(key="fleet_outings").set_value(["kayak_evening"])
    page.button(key="do_sweep").click().run()
    page.button(key="do_fleet").click().run()
    assert not page.exception
    shown = [block.value for block in page.markdown]
    assert any(text.startswith("**It fits in 3 of 3 rows.**") for text in shown)
    assert any(text.startswith("**It fits 1 of 1 buyer.**") for text in shown)
    assert [len(frame.value) for frame in page.dataframe] == [3, 1]
    page.text_input(key="sweep_From_ambient").set_value("4 degC").run()
    assert [len(frame.value) for frame in page.dataframe] == [1]  # other ranges were not worked out


def test_what_may_vary_are_the_numbers_of_both_files_by_their_names_in_the_editor(
    open_page: Callable[..., AppTest],
) -> None:
    page = open_page("many_page", battery_chosen="unit_one", outing_chosen="anchor_winch", climate_chosen="cold-lake")
    first = page.selectbox(key="sweep_key_1")
    assert first.value == "ambient"
    second = page.selectbox(key="sweep_key_2")
    assert second.value is None
    assert len(second.options) == len(first.options) - 1
    page = second.set_value("wiring.length").run()
    page.text_input(key="sweep_From_wiring.length").set_value("1 m")
    page.text_input(key="sweep_To_wiring.length").set_value("20 ft")
    page.number_input(key="sweep_count_wiring.length").set_value(2)
    page.number_input(key="sweep_count_ambient").set_value(2)
    page = page.button(key="do_sweep").click().run()
    assert not page.exception
    shown = page.dataframe[0].value
    assert list(shown["Cable and fuse: Length one way (m)"]) == pytest.approx([1.0, 6.096, 1.0, 6.096])
    assert page.selectbox(key="sweep_key_3").value is None
    for box in (first, second):  # another outing has other numbers
        assert box.options
    page.selectbox(key="outing_chosen").set_value("kayak_evening").run()
    assert not page.exception


@pytest.mark.parametrize("kind", FORMS)
def test_every_number_that_is_offered_is_one_the_command_takes(kind) -> None:
    """And none of a file of the demo data is missing, but for lists and tables of bare numbers."""
    for path in sorted((PROFILES / f"{kind}s").glob("*.toml")):
        values = tomllib.loads(path.read_text())
        offered = numbers_of(kind, values)
        assert offered
        assert len({varied.label for varied in offered.values()}) == len(offered), path.name
        for key, varied in offered.items():
            bare = key.removeprefix("climate.")
            found = parse_vary(f"{bare}={varied.present};{varied.present}", values, path.name)
            assert found.numbers[0] == found.numbers[1]
        kept = {key for key in leaves(values) if _is_number(find_place(key, values, path.name)[1])} - {"format"}
        kept = {key for key in kept if not key.rsplit(".", 1)[-1].isdigit()}
        assert {key.removeprefix("climate.") for key in offered} >= kept


def _is_number(value: object) -> bool:
    if isinstance(value, str):
        return any(value.endswith(f" {unit}") for kind in KINDS for unit in accepted_units(kind))
    return isinstance(value, int | float) and not isinstance(value, bool)


def test_the_buyers_at_first_are_the_users_own(open_page: Callable[..., AppTest], own_folder: Path) -> None:
    page = open_page("many_page")
    assert {"kayak_evening", "trolling_day"} <= set(page.multiselect(key="fleet_outings").value)
    Library(own_folder).save("outings", "Ann", TEMPLATES["outings"]["winch"], None)
    assert open_page("many_page").multiselect(key="fleet_outings").value == ["ann"]
