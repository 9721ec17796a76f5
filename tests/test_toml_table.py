"""Reading a TOML file key by key: every problem at once, nothing hostile gets through."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from planner.errors import InputRefused, Problem
from planner.toml_table import (
    LONGEST_LIST,
    MOST_PROBLEMS,
    Table,
    read_toml,
    table_from_bytes,
    table_of_values,
)


def _table(text: str, folder: Path | None = None) -> Table:
    return table_from_bytes(("format = 1\n" + text).encode(), "case.toml", folder)


def _problems(table: Table) -> tuple[Problem, ...]:
    with pytest.raises(InputRefused) as caught:
        table.finish()
    return caught.value.problems


def _only(table: Table) -> Problem:
    problems = _problems(table)
    assert len(problems) == 1
    return problems[0]


def _refused_whole(data: bytes) -> Problem:
    with pytest.raises(InputRefused) as caught:
        table_from_bytes(data, "case.toml")
    assert len(caught.value.problems) == 1
    assert caught.value.problems[0].key == "(file)"
    return caught.value.problems[0]


def test_a_sound_file_gives_its_values() -> None:
    table = _table(
        'a = "12.5 A"\nn = 3\nt = "words"\nf = true\nc = "hold"\nd = 2026-03-14\nw = "AWG 2/0"\n'
        'q = ["1 V", "2 V"]\np = [["0 Ah", "13 V"], ["5 Ah", "12 V"]]\nm = [11, 12]\nx = [[0.5, "2 A"]]\n'
        'k = ["energy"]\n[inner]\nb = "1 kg"\n[[many]]\nv = 1\n[[many]]\nv = 2\n[named.load]\nv = 3\n'
    )
    assert table.quantity("a", "current", low=0.0, high=20.0) == 12.5
    assert table.number("n", whole=True) == 3.0
    assert table.text("t") == "words"
    assert table.flag("f") is True
    assert table.choice("c", ("hold", "ramp")) == "hold"
    assert str(table.date("d")) == "2026-03-14"
    conductor = table.conductor("w")
    assert conductor is not None
    assert conductor[0] == "AWG 2/0"
    assert table.quantity_list("q", "voltage") == (1.0, 2.0)
    assert table.pairs("p", ("charge", "voltage")) == ((0.0, 13.0), (18_000.0, 12.0))
    assert table.pairs("x", ("number", "current")) == ((0.5, 2.0),)
    assert table.number_list("m", whole=True) == (11.0, 12.0)
    assert table.choices("k", ("energy", "wiring")) == ("energy",)
    inner = table.table("inner")
    assert inner is not None
    assert inner.quantity("b", "mass") == 1.0
    assert [(one.place, one.number("v")) for one in table.tables("many")] == [
        ("many.1", 1.0),
        ("many.2", 2.0),
    ]
    assert [one.number("v") for one in table.named_tables("named").values()] == [3.0]
    table.finish()


def test_absent_keys_are_unknown_and_not_zero() -> None:
    table = _table("")
    assert table.quantity("a", "current") is None
    assert table.quantity("a", "current", default=2.0) == 2.0
    assert table.number("n") is None
    assert table.text("t") is None
    assert table.flag("f") is None
    assert table.choice("c", ("x",)) is None
    assert table.choices("k", ("x",)) is None
    assert table.table("inner") is None
    assert table.tables("many") == ()
    assert table.pairs("p", ("charge", "voltage")) == ()
    table.finish()


def test_all_problems_of_a_file_are_told_at_once() -> None:
    table = _table('a = "5 Ah"\nb = 20\ncurent = "1 A"\n[[step]]\nv = "nan V"\n[[step]]\nv = "-1 V"\n')
    table.quantity("a", "current")
    table.quantity("b", "current")
    table.quantity("current", "current", required=True)
    for step in table.tables("step"):
        step.quantity("v", "voltage", low=0.0, high=20.0)
    problems = {problem.key: problem for problem in _problems(table)}
    assert set(problems) == {"a", "b", "current", "step.1.v", "step.2.v", "curent"}
    assert problems["a"].fix.endswith("its own key.")
    assert '"20 A"' in problems["b"].fix
    assert problems["curent"].fix == "Did you mean current?"
    assert problems["step.2.v"].allowed == "from 0 V up to 20 V"
    assert all(problem.file == "case.toml" for problem in problems.values())


def test_a_limit_is_told_in_the_unit_the_user_typed() -> None:
    table = _table('a = "120 degF"\nb = "0 mA"\n')
    table.quantity("a", "temperature", low=253.15, high=313.15)
    table.quantity("b", "current", above=0.0, high=0.5)
    first, second = _problems(table)
    assert first.allowed == "from -4 degF up to 104 degF"  # by hand: -20 and 40 degC
    assert second.allowed == "above 0 mA up to 500 mA"


def test_limits_belong_to_the_range_but_above_does_not() -> None:
    table = _table('a = "2 A"\nb = "2 A"\n')
    assert table.quantity("a", "current", low=2.0, high=2.0) == 2.0
    table.quantity("b", "current", above=2.0)
    assert _only(table).key == "b"


@pytest.mark.parametrize("value", ["nan", "inf", "-inf", "true", '"3"', "9" * 400, "1e308", "11", "0", "3.5"])
def test_a_number_that_is_none_is_refused(value: str) -> None:
    table = _table(f"n = {value}\n")
    assert table.number("n", above=0.0, high=10.0, whole=True) is None
    assert _only(table).key == "n"


@pytest.mark.parametrize(
    ("line", "ask"),
    [
        ("t = 5", lambda t: t.text("t")),
        ('t = "  "', lambda t: t.text("t")),
        (f't = "{"x" * 201}"', lambda t: t.text("t")),
        ('t = "yes"', lambda t: t.flag("t")),
        ("t = 1", lambda t: t.flag("t")),
        ('t = "Hold"', lambda t: t.choice("t", ("hold", "ramp"))),
        ("t = 3", lambda t: t.choice("t", ("hold", "ramp"))),
        ('t = "2026-03-14"', lambda t: t.date("t")),
        ("t = 2026-03-14T10:00:00", lambda t: t.date("t")),
        ('t = "4"', lambda t: t.conductor("t")),
        ('t = "1 V"', lambda t: t.quantity_list("t", "voltage")),
        ("t = [1]", lambda t: t.quantity_list("t", "voltage")),
        ('t = [["0 Ah"]]', lambda t: t.pairs("t", ("charge", "voltage"))),
        ('t = ["0 Ah"]', lambda t: t.pairs("t", ("charge", "voltage"))),
        ('t = ["enrgy"]', lambda t: t.choices("t", ("energy",))),
        ("t = 1", lambda t: t.table("t")),
        ("t = 1", lambda t: t.tables("t")),
        ("t = [1]", lambda t: t.tables("t")),
        ("[t]\nv = 1", lambda t: t.tables("t")),
        ('t = "1 A"', lambda t: t.number("t")),
        ("t = { x = 1 }", lambda t: t.quantity("t", "current")),
        ('t = "no-such-file.csv"', lambda t: t.path("t")),
    ],
)
def test_a_value_of_the_wrong_form_is_one_problem_with_a_fix(line: str, ask) -> None:
    table = _table(line + "\n", Path())
    ask(table)
    problem = _problems(table)[0]
    assert problem.key.startswith("t")
    assert problem.allowed and problem.fix


def test_required_keys_that_are_absent_say_what_to_write() -> None:
    table = _table("")
    table.quantity("a", "current", required=True)
    table.number("n", required=True)
    assert table.text("t", required=True) == ""
    assert table.choice("c", ("hold", "ramp"), required=True) == "hold"
    table.tables("load", required=True)
    table.path("p", required=True)
    problems = {problem.key: problem for problem in _problems(table)}
    assert set(problems) == {"a", "n", "t", "c", "load", "p"}
    assert problems["a"].fix == 'Write a = "12.5 A".'
    assert "[[load]]" in problems["load"].fix


@pytest.mark.parametrize("text", ["", "format = 2", 'format = "1"', "format = 1.0", "format = true"])
def test_a_file_without_the_known_format_is_refused(text: str) -> None:
    problem = _only(table_from_bytes(text.encode(), "case.toml"))
    assert problem.key == "format"
    assert "format = 1" in problem.fix


def test_an_unopened_section_is_an_unknown_key() -> None:
    assert _only(_table("[storge]\nx = 1\n")).key == "storge"


def test_named_files_are_found_from_the_files_own_folder_and_listed_in_order(tmp_path: Path) -> None:
    (tmp_path / "b.csv").write_text("x")
    (tmp_path / "a.csv").write_text("x")
    table = _table('log = "b.csv"\nunits = ["a.csv", "b.csv"]\n', tmp_path)
    assert table.path("log") == tmp_path / "b.csv"
    assert table.paths("units") == (tmp_path / "a.csv", tmp_path / "b.csv")
    assert table.files == (tmp_path / "b.csv", tmp_path / "a.csv")
    table.finish()


def test_an_upload_may_not_name_files(tmp_path: Path) -> None:
    (tmp_path / "secret.csv").write_text("x")
    table = _table(f"log = '{tmp_path / 'secret.csv'}'\n", None)
    assert table.path("log") is None
    assert _only(table).allowed == "no file names in an upload"


def test_warnings_carry_their_place() -> None:
    table = _table("[[step]]\n")
    table.tables("step")[0].warn("no meter named")
    assert table.warnings == ("step.1: no meter named",)


def test_a_missing_file_a_folder_and_a_file_are_told_apart(tmp_path: Path) -> None:
    for path, found in (
        (tmp_path / "none.toml", "not there"),
        (tmp_path, "a folder"),
        (Path("a\0b"), "not there"),
    ):
        with pytest.raises(InputRefused) as caught:
            read_toml(path)
        assert caught.value.problems[0].value == found
    good = tmp_path / "good.toml"
    good.write_text("format = 1\n", encoding="utf-8")
    read_toml(good).finish()


def test_a_file_starting_with_a_byte_order_mark_is_read() -> None:
    table_from_bytes(b"\xef\xbb\xbfformat = 1\n", "case.toml").finish()


@pytest.mark.parametrize(
    ("data", "value"),
    [
        (b"# " + b"x" * 2_000_000, "too large"),
        (b"\xff\xfe", "not UTF-8 at byte 0"),
        (b"name = ", "not TOML"),
        (b"just words", "not TOML"),
        (b"\x00", "not TOML"),
        (b"a = 1\na = 2", "not TOML"),
        (b"d = 2026-02-30", "not TOML"),
        (b"n = " + b"9" * 5_000, "not TOML"),
        (b"a = " + b"[" * 100_000, "nested too deeply"),
    ],
)
def test_what_is_no_toml_is_one_problem_of_the_file(data: bytes, value: str) -> None:
    assert _refused_whole(data).value == value


@pytest.mark.parametrize(
    "text",
    [
        ".".join(["a"] * 100_000) + " = 1",
        "[" + ".".join(["a"] * 100_000) + "]",
        'x = ["\\"", {' + ".".join(['"a"'] * 100_000) + " = 1}]",
        "x = '''a' ''\n''', y\n" + " . ".join(["'a'"] * 100_000) + " = 1",
        'x = """a""""\n' + ".".join(["a"] * 100_000) + " = 1",
    ],
)
def test_a_key_of_very_many_parts_is_refused_before_it_fills_the_memory(text: str) -> None:
    # The standard parser needs memory by the square of the parts: tens of gigabytes here.
    assert _refused_whole(text.encode()).value == "a key of many dotted parts"


@pytest.mark.parametrize(
    "text", ['"\\' * 500_000, '"""' * 300_000, "'" * 900_000, "." * 900_000, "[x]\n" * 400_000]
)
def test_hostile_texts_are_refused_in_linear_time(text: str) -> None:
    started = time.process_time()
    _refused_whole(text.encode())
    # Quadratic scanning of these took more than 100 s; half a second is usual.
    assert time.process_time() - started < 20.0


def test_dots_in_texts_numbers_and_comments_are_no_keys() -> None:
    dotted = ".".join("abcdefghijklmnopqrstuvwxyz")
    table = _table(f'notes = "{dotted}" # {dotted}\nlist = [{", ".join(["1.5"] * 40)}]\n')
    assert table.text("notes") == dotted
    assert len(table.number_list("list")) == 40
    table.finish()


def test_a_list_longer_than_any_curve_is_refused() -> None:
    table = _table("n = [" + "1," * (LONGEST_LIST + 1) + "]\n")
    assert table.number_list("n") == ()
    assert f"at most {LONGEST_LIST}" in _only(table).allowed


def test_very_many_problems_are_cut_short_and_it_is_said() -> None:
    table = _table("\n".join(f"k{i} = 1" for i in range(500)))
    problems = _problems(table)
    assert len(problems) == MOST_PROBLEMS + 1
    assert problems[-1].value == "more problems than listed"


@pytest.mark.parametrize("text", ["\\u202egood", "\\u2066x", "\\u001b[2J", "\\u0000", "\\u009b31m", "\\u007f"])
def test_a_text_with_hidden_commands_is_refused_and_told_by_its_escapes(text: str) -> None:
    table = _table(f't = "{text}"')
    table.text("t")
    problem = _only(table)
    assert problem.key == "t"
    assert str(problem).isprintable()


@pytest.mark.parametrize("text", ["\\u200b", " \\u200d\\ufeff ", "\\u00a0"])
def test_a_text_of_which_nothing_can_be_seen_is_blank(text: str) -> None:
    table = _table(f't = "{text}"')
    table.text("t")
    assert _only(table).value.startswith('"')


@pytest.mark.parametrize("text", ["שלום", "a\\u200db", "é", "🚤", "two\\nlines\\tand a tab"])
def test_a_text_in_any_script_is_taken(text: str) -> None:
    table = _table(f't = "{text}"')
    assert table.text("t")
    table.finish()


def test_a_path_too_long_for_the_system_leads_nowhere(tmp_path: Path) -> None:
    table = _table(f'p = "{"x" * 100_000}"', tmp_path)
    table.path("p")
    assert "no such file" in _only(table).fix


@pytest.mark.parametrize(("key", "shown"), [("\n", "'\\n'"), (" ", "' '"), ("\u200b", "'\\u200b'")])
def test_an_unknown_key_that_nobody_can_see_is_shown(key: str, shown: str) -> None:
    assert shown in {problem.key for problem in _problems(table_of_values({key: 1}, "file.toml"))}


def test_a_value_that_was_refused_is_not_told_as_absent_too() -> None:
    table = _table("latitude = 72.0\n")
    assert table.number("latitude", low=-66.0, high=66.0) is None
    table.problem("latitude", "absent", "degrees", "Add latitude.")
    table.problem("sun_hours", "absent", "12 durations", "Add them.")
    assert [(problem.key, problem.value) for problem in _problems(table)] == [("latitude", "72.0"), ("sun_hours", "absent")]
