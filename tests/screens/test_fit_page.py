"""The first screen by the framework's own test runner: every demo pair, uploads good and bad."""

import datetime
import functools
import re
from pathlib import Path

import pandas as pd
import pytest
from streamlit.testing.v1 import AppTest

from planner.explain.sheet import sheet_of
from planner.explain.sheet_plain import plain_text
from planner.explain.sheet_units import sheet_in_units
from planner.explain.shown_units import AS_MADE, US
from planner.outing.reader import read_outing
from planner.record.reader import read_record
from planner.screens import choosing
from planner.screens.answering import Asked
from planner.screens.fit_parts import _csv, file_name
from planner.screens.given import Given, Upload, placed
from planner.screens.plain_text import plain
from planner.screens.state import OWN
from planner.screens.unit_choice import SWITCH
from planner.verdict.assess import assess

ROOT = Path(__file__).resolve().parent.parent.parent
BATTERIES = sorted((ROOT / "profiles" / "batteries").glob("*.toml"))
OUTINGS = sorted((ROOT / "profiles" / "outings").glob("*.toml"))
LONG_WORK = ("recorded_morning", "series_pair")
FEW_DRAWS = 20  # the page asks for 500; here only its wiring is tested, against the same number of draws


@pytest.fixture
def page(monkeypatch: pytest.MonkeyPatch) -> AppTest:
    monkeypatch.setattr(choosing, "Asked", functools.partial(Asked, draws=FEW_DRAWS))
    return AppTest.from_file(str(ROOT / "app.py"), default_timeout=60)


def choose(page: AppTest, battery: str, outing: str) -> AppTest:
    page.session_state["battery_in_use"] = battery
    page.session_state["outing_in_use"] = outing
    page.run()
    assert not page.exception
    assert page.selectbox(key="battery_chosen").value == battery
    assert page.selectbox(key="outing_chosen").value == outing
    return page


def texts(page: AppTest) -> str:
    return "\n".join(part.value for part in (*page.title, *page.header, *page.markdown, *page.caption))


def pairs() -> list[object]:
    """All pairs; the long log and the pair in series, each seconds of work, for one battery unless slow tests run."""
    return [
        pytest.param(
            battery, outing, id=f"{battery.stem}-{outing.stem}",
            marks=[pytest.mark.slow] if outing.stem in LONG_WORK and battery.stem != "unit_four" else [],
        )
        for battery in BATTERIES
        for outing in OUTINGS
    ]


@pytest.mark.parametrize(("battery", "outing"), pairs())
def test_every_demo_pair_shows_the_verdict_that_the_judge_gives(page: AppTest, battery: Path, outing: Path) -> None:
    choose(page, battery.stem, outing.stem)
    need = read_outing(outing)
    units = tuple(read_record(path) for path in need.bank.units) if need.bank else ()
    judged = assess(read_record(battery), need, draws=FEW_DRAWS, units=units)  # as the command asks
    (title,) = page.title
    assert title.value.split("] ", 1)[1] == judged.verdict.capitalize()
    assert len(page.get("vega_lite_chart")) == 4


def test_the_screen_names_this_unit_and_tells_nine_outings_in_ten(page: AppTest) -> None:
    shown = texts(choose(page, "unit_one", "trolling_day"))
    assert "A unit like the one we tested" in shown
    assert "In nine outings of ten like this one it lasts at least" in shown
    assert "We tested one unit" in shown


def test_a_second_look_answers_from_the_store(page: AppTest, monkeypatch: pytest.MonkeyPatch) -> None:
    choose(page, "unit_two", "kayak_evening")
    first = texts(page)

    def never(*_: object) -> None:
        raise AssertionError("worked out a second time")

    monkeypatch.setattr("planner.screens.answering.judge", never)
    assert texts(choose(page, "unit_two", "kayak_evening")) == first


def test_a_climate_adds_the_question_of_charging_in_the_cold(page: AppTest) -> None:
    page.session_state["climate_in_use"] = "cold-lake"
    assert "Charging in the cold" in texts(choose(page, "unit_one", "trolling_day"))


def upload(page: AppTest, kind: str, name: str, data: bytes) -> AppTest:
    page.session_state[f"{kind}_in_use"] = OWN
    page.run()
    assert not page.exception
    page.get("file_uploader")[0].set_value((name, data, "application/toml"))
    page.run()
    assert not page.exception
    return page


def test_an_upload_gives_the_same_verdict_as_the_same_file_on_disk(page: AppTest) -> None:
    path = ROOT / "profiles" / "batteries" / "unit_two.toml"
    upload(page, "battery", "mine.toml", path.read_bytes())
    judged = assess(
        read_record(path), read_outing(ROOT / "profiles" / "outings" / "trolling_day.toml"), draws=FEW_DRAWS
    )
    assert page.title[0].value.endswith(judged.verdict.capitalize())


def test_an_upload_that_is_kept_is_found_again_after_a_reload(page: AppTest) -> None:
    text = (ROOT / "profiles" / "outings" / "kayak_evening.toml").read_bytes().replace(b"Kayak evening", b"Our evening")
    upload(page, "outing", "Ours & theirs.toml", text)
    page.button(key="keep_outing").click().run()
    assert not page.exception
    key = page.session_state["outing_in_use"]
    assert key != OWN and page.query_params["outing"] in (key, [key])
    again = AppTest.from_file(str(ROOT / "app.py"), default_timeout=60)
    again.query_params["outing"] = key
    again.run()
    assert not again.exception
    assert "Our evening" in again.markdown[0].value.replace("\\", "")


def test_a_file_of_another_kind_is_not_kept_and_told_so(page: AppTest) -> None:
    upload(page, "outing", "x.toml", (ROOT / "profiles" / "batteries" / "unit_two.toml").read_bytes())
    page.button(key="keep_outing").click().run()
    assert not page.exception
    assert any("of another kind" in each.value for each in page.get("text"))
    assert page.session_state["outing_in_use"] == OWN


def test_a_bad_upload_shows_every_problem_under_the_users_own_file_name(page: AppTest) -> None:
    data = b'format = 1\nname = "x"\nduration = "4"\n[[load]]\nname = "l"\nkind = "current"\ncurrent = "12,5 A"\n'
    upload(page, "outing", "my plan.toml", data)
    assert page.title[0].value == "No answer yet"
    shown = texts(page)
    for part in ("duration", "load\\.1\\.current", "ambient", "my plan\\.toml", "12\\.5 A"):
        assert part in shown
    assert "/tmp" not in shown and "upload\\-" not in shown


def test_not_toml_is_told_and_not_a_traceback(page: AppTest) -> None:
    upload(page, "battery", "broken.toml", b"\xff\xfe\x00 = [[")
    assert page.title[0].value == "No answer yet"
    assert "broken\\.toml" in texts(page)


def test_an_uploaded_text_never_reads_a_file_of_this_machine(page: AppTest, tmp_path: Path) -> None:
    secret = tmp_path / "secret.csv"
    secret.write_text("Time (s),Current (A)\n0,1\n10,1\n")
    load = f'[[load]]\nname = "l"\nkind = "recorded"\nlog = "{secret}"\nbetween_samples = "hold"\n'
    data = f'format = 1\nname = "x"\nduration = "1 h"\nambient = "20 degC"\n{load}'
    upload(page, "outing", "reach.toml", data.encode())
    assert page.title[0].value == "No answer yet"
    assert "Upload secret\\.csv as well" in texts(page)


def test_markup_in_an_uploaded_name_is_shown_as_text(page: AppTest) -> None:
    data = (ROOT / "profiles" / "outings" / "kayak_evening.toml").read_text()
    name = '<img src=x onerror=alert(1)> **bold** :red[x] $x$ [a](https://example.org)'
    changed = "\n".join(f"name = '{name}'" if line == 'name = "small motor"' else line for line in data.splitlines())
    assert changed != data.rstrip("\n")
    page.session_state["battery_in_use"] = "unit_one"
    upload(page, "outing", "named.toml", changed.encode())
    assert "Fits" in page.title[0].value
    for block in page.markdown:
        assert not block.allow_html
        assert not re.search(r"(?<!\\)<img|(?<!\\)\*\*bold|:red\[x", block.value)


@pytest.mark.parametrize(
    "text", ["a*b*", "<b>x</b>", "[x](http://y)", "$x^2$", ":red[x]", ":material/home:", "# x", "1. x", "- x", "`x`"]
)
def test_plain_text_leaves_no_mark_that_could_be_formatting(text: str) -> None:
    shown = plain(text)
    # CommonMark 0.31, 2.4: a backslash before ASCII punctuation makes it a plain character
    unescaped = shown.replace("\u2060", "").replace("\\", "")
    assert unescaped == text
    bare = [mark for before, mark in zip(" " + shown, shown, strict=False) if before != "\\" and mark in "*<>[]()$`#"]
    assert not bare
    assert ":red[" not in shown and ":material" not in shown


def test_uploads_lie_under_our_own_names_and_are_gone_afterwards() -> None:
    given = Given(main=Upload("../../x.toml", b"a"), companions=(Upload("../y.csv", b"b"), Upload("z.exe", b"c")))
    with placed(given) as place:
        assert place.named is not None
        files = [place.path, *place.named.values()]
        assert [path.name for path in files] == ["main-upload.toml", "companion-1.csv", "companion-2.csv"]
        assert {path.parent for path in files} == {place.path.parent}
        assert place.restored(f"in {place.path}") == "in ../../x.toml"
    assert not place.path.exists() and not place.path.parent.exists()


def test_the_digest_changes_with_every_byte_name_and_setting() -> None:
    one = Given(main=Upload("a.toml", b"1"), companions=(Upload("l.csv", b"2"),))
    others = [
        Given(main=Upload("a.toml", b"9"), companions=(Upload("l.csv", b"2"),)),
        Given(main=Upload("a.toml", b"1"), companions=(Upload("l.csv", b"9"),)),
        Given(main=Upload("a.toml", b"1"), companions=(Upload("m.csv", b"2"),)),
        Given(main=Upload("a.toml", b"1")),
    ]
    assert len({given.digest for given in (one, *others)}) == 5
    asked = [Asked(one, one), Asked(one, one, draws=7), Asked(one, one, seed=7), Asked(one, one, one), Asked(others[0], one)]
    assert len({each.digest for each in asked}) == 5


@pytest.mark.parametrize("ending", [".pdf", ".html", ".txt", ".csv", ".json"])
def test_the_sheet_is_made_of_the_answer_on_the_page_in_the_units_shown(page: AppTest, ending: str) -> None:
    choose(page, "unit_one", "trolling_day")
    page.session_state[SWITCH] = True
    page.run()
    page.button(key="units_us").click().run()
    page.selectbox(key="sheet_kind").set_value(ending).run()
    assert not [each for each in page.get("download_button") if "sheet" in each.label]
    page.button(key="sheet_make").click().run()
    assert not page.exception
    (file,) = [each for each in page.get("download_button") if "sheet" in each.label]
    assert file.label == f"Download the sheet ({ending[1:].upper()})"
    if ending == ".txt":  # shown as it is, to be copied into a message
        assert any("FITS: a unit like the one we tested" in block.value and "°F" in block.value for block in page.code)
        return
    page.session_state["sheet_look"] = True
    page.run()
    assert not page.exception
    (picture,) = page.get("image")
    assert picture.proto.imgs[0].alt == "The sheet for Demo unit one, 100 Ah (invented) on Trolling day on the lake (invented): fits"


def test_the_spread_behind_the_runtime_is_drawn_when_it_is_opened(page: AppTest) -> None:
    choose(page, "unit_one", "trolling_day")
    count = len(page.get("vega_lite_chart"))
    page.session_state["runtime"] = True
    page.run()
    assert not page.exception
    assert len(page.get("vega_lite_chart")) == count + 1


def test_a_sheet_in_other_units_keeps_names_and_numbers_underneath() -> None:
    found = assess(
        read_record(BATTERIES[0]), read_outing(ROOT / "profiles" / "outings" / "trolling_day.toml"), draws=FEW_DRAWS
    )
    made = sheet_of(found, datetime.date(2030, 1, 31), "Weight 11 kg & Co")
    shown = sheet_in_units(made, US)
    assert "°C" in plain_text(made) and "°C" not in plain_text(shown) and "°F" in plain_text(shown)
    assert (shown.answer, shown.made_with, shown.tester, shown.battery) == (
        made.answer, made.made_with, made.tester, made.battery
    )  # fmt: skip
    assert plain_text(sheet_in_units(made, AS_MADE)) == plain_text(made)


@pytest.mark.parametrize(
    ("name", "file"),
    [("Demo unit one, 100 Ah", "demo-unit-one-100-ah"), ("Тест № 7", "тест-7"), ("試験用電池 三号", "試験用電池-三号"),
     ("हिन्दी", "हिन्दी"), ("../../a\\b:c*?.exe", "a-b-c-exe"), ("🔋", "unnamed"), ("", "unnamed")],
)  # fmt: skip
def test_a_download_is_named_in_any_script(name: str, file: str) -> None:
    assert file_name(name) == file


def test_two_long_names_and_a_day_are_a_file_name() -> None:
    """At most 255 bytes, the usual limit of a name."""
    both = "_".join(["answer", file_name("試" * 200), file_name("🜁" * 9 + "電" * 200), "2026-11-27"]) + ".json"
    assert 190 < len(both.encode()) <= 255


def test_a_table_is_read_by_a_spreadsheet_as_it_was_written() -> None:
    """Without the mark a spreadsheet takes the letters for those of its own country."""
    data = _csv(pd.DataFrame({"Hottest (°C)": [19.0], "Battery": ["Тест"], "Note": ["=1+1"]}))
    assert data.startswith(b"\xef\xbb\xbf")
    assert data.decode("utf-8-sig").splitlines() == ["Hottest (°C),Battery,Note", "19.0,Тест,'=1+1"]
