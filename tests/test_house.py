"""The house as DEVELOPERS.md describes it: sizes, language, what its tables name."""

from __future__ import annotations

import ast
import importlib
import re
from functools import cache
from pathlib import Path

import pytest

from planner.outing.load_reader import KINDS
from planner.outing.schema import QUESTIONS
from planner.screens.form_outing import KIND_WORDS

ROOT = Path(__file__).parents[1]
SOURCES = sorted([ROOT / "app.py", *(ROOT / "planner").rglob("*.py"), *(ROOT / "tests").rglob("*.py")])
MOST_LINES, MOST_OF_A_FUNCTION = 400, 40
OLDEST = (3, 11)
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
SUFFIXES = (".py", ".toml", ".md")
ELSEWHERE = ("concurrent", "numba")
TABLES_OF_QUESTIONS = (
    "explain.check_words.CHECK_WORDS",
    "explain.reasoning.MEASUREMENTS",
    "screens.verdict_bar.PLACES",
)
THREATS = "What could be attacked, and what stops it"


@cache
def text_of(path: Path) -> str:
    return path.read_text(encoding="utf-8")


def named(path: Path) -> str:
    return str(path.relative_to(ROOT))


def lines_of(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of a function without its docstring."""
    assert function.end_lineno is not None
    first = function.body[0]
    told = ast.get_docstring(function, clean=False) is not None
    told_lines = first.end_lineno - first.lineno + 1 if told and first.end_lineno else 0
    return function.end_lineno - function.lineno + 1 - told_lines


@cache
def tree_of(path: Path) -> ast.Module:
    return ast.parse(text_of(path), filename=named(path), feature_version=OLDEST)


def too_long(source: str, tree: ast.Module | None = None) -> list[str]:
    """What of a module is longer than it may be."""
    found = [
        f"{node.name}: {lines_of(node)} lines"
        for node in ast.walk(tree or ast.parse(source))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and lines_of(node) > MOST_OF_A_FUNCTION
    ]
    count = len(source.splitlines())
    return found + ([f"{count} lines"] if count > MOST_LINES else [])


def section(title: str) -> str:
    """A part of DEVELOPERS.md."""
    assert GUIDE.count(f"\n## {title}\n") == 1
    return GUIDE.partition(f"\n## {title}\n")[2].partition("\n## ")[0]


def test_modules_and_functions_are_as_short_as_the_house_rules_say() -> None:
    assert len(SOURCES) > 400
    assert {named(path): long for path in SOURCES if (long := too_long(text_of(path), tree_of(path)))} == {}


def test_what_is_too_long_would_be_seen() -> None:
    body = "\n".join(["    x = 1"] * MOST_OF_A_FUNCTION)
    assert too_long(f"def f():\n{body}\n") == [f"f: {MOST_OF_A_FUNCTION + 1} lines"]
    assert too_long(f'def f():\n    """A.\n\n    B.\n    """\n{body[10:]}\n') == []
    assert too_long("\n" * (MOST_LINES + 1)) == [f"{MOST_LINES + 1} lines"]


def test_every_module_is_in_the_language_of_the_oldest_version_it_is_meant_for() -> None:
    """The parser says so where a construct is newer; what a newer Python no longer takes fails when it runs the tests."""
    assert len([tree_of(path) for path in SOURCES]) == len(SOURCES)


def test_the_oldest_version_refuses_what_came_after_it() -> None:
    with pytest.raises(SyntaxError):
        ast.parse("type A = int", feature_version=OLDEST)


def test_every_room_of_the_map_is_there_and_every_folder_is_a_room() -> None:
    rows = re.findall(r"^\| (`.*?) \|", section("The house"), flags=re.MULTILINE)
    rooms = {name for row in rows for name in re.findall(r"`(\w+)`", row)}
    there = {
        path.stem
        for path in (ROOT / "planner").iterdir()
        if path.suffix == ".py" or (path / "__init__.py").exists()
    }
    assert rooms - there == set()
    assert there - rooms == {"__init__", "__main__"}


def test_every_file_and_module_that_the_guide_names_is_there() -> None:
    """Paths, and dotted names of modules or of what is in them."""
    names = {name.strip("/") for name in re.findall(r"`([\w./-]+)`", GUIDE) if "/" in name}
    assert len(names) > 20
    places = (ROOT, ROOT / "planner", ROOT / "tests")
    known = [place / (name + suffix) for name in names for place in places for suffix in ("", ".py")]
    found = {
        str(path.relative_to(place))
        for path in known
        for place in places
        if path.exists() and path.is_relative_to(place)
    }
    gone = {name for name in names if name not in found and f"{name}.py" not in found}
    assert gone == set()


def modules_of(dotted: str) -> list[Path]:
    """Modules of the planner a dotted name may mean: itself, or the one that what it names is in."""
    parts = dotted.split(".")
    places = [ROOT / "planner" / Path(*parts[:cut]) for cut in range(len(parts), 0, -1)]
    files = [file for place in places for file in (place.with_suffix(".py"), place / "__init__.py")]
    return [file for file in files if file.exists()]


@pytest.mark.parametrize("dotted", sorted(set(re.findall(r"`((?:[a-z_]+\.)+\w+)`", GUIDE))))
def test_every_dotted_name_of_the_guide_is_in_its_module(dotted: str) -> None:
    first, last = dotted.split(".", 1)[0], dotted.rsplit(".", 1)[1]
    if f".{last}" in SUFFIXES or first in ELSEWHERE:
        return
    modules = modules_of(dotted)
    assert modules, f"{dotted} is nowhere"
    assert modules[0].stem == last or re.search(rf"\b{last}\b", text_of(modules[0])), modules[0]


def threats() -> list[tuple[str, str]]:
    """Each row of the table of what could be attacked: what, and which tests prove that it is stopped."""
    rows = [line.split("|")[1:-1] for line in section(THREATS).splitlines() if line.startswith("| ")]
    return [(cells[0].strip(), cells[2].strip()) for cells in rows[1:]]


def proofs(cell: str) -> list[tuple[str, list[str]]]:
    """Each test file or folder of a cell, and the words that follow its colon, each of one test's name."""
    pairs = re.findall(r"`(?:tests/)?([\w/]+)`(?:: ([\w ,]+?))?(?=[,;.]? `|[;.]|,? ?$| prints| \()", cell)
    return [(place, [word.strip() for word in words.split(",") if word.strip()]) for place, words in pairs]


@pytest.mark.parametrize(("what", "cell"), threats())
def test_every_threat_names_a_test_that_is_there(what: str, cell: str) -> None:
    named_tests = [(place, words) for place, words in proofs(cell) if not place.startswith("ci/")]
    assert named_tests, what
    for place, words in named_tests:
        path = ROOT / "tests" / place
        if path.is_dir():
            assert list(path.glob("test_*.py")), place
            continue
        tests = re.findall(r"^def (test_\w+)", text_of(path.with_suffix(".py")), flags=re.MULTILINE)
        assert tests, place
        for word in words:
            assert any(word.replace(" ", "_") in test for test in tests), f"{place}: {word}"


@pytest.mark.parametrize("table", TABLES_OF_QUESTIONS)
def test_every_question_has_its_words_in(table: str) -> None:
    module, _, name = table.rpartition(".")
    assert set(QUESTIONS) - set(getattr(importlib.import_module(f"planner.{module}"), name)) == set()


def test_every_kind_of_load_can_be_chosen_in_the_form() -> None:
    assert set(KIND_WORDS) == set(KINDS)


def test_every_kind_of_load_is_in_the_readme() -> None:
    told = re.search(r"# kind: (.*)", (ROOT / "README.md").read_text(encoding="utf-8"))
    assert told is not None
    assert tuple(told[1].split(" | ")) == KINDS


def test_every_requirement_has_its_reason_in_the_guide() -> None:
    lines = (ROOT / "requirements.txt").read_text(encoding="utf-8").splitlines()
    required = {re.split(r"[<>=]", line)[0] for line in lines if line[:1].isalpha()}
    _, _, after = GUIDE.partition("## What it stands on")
    rows = [line.split("|") for line in after.partition("\n## ")[0].splitlines() if line.startswith("| ")]
    told = {name.strip() for row in rows[1:] for name in row[1].split(",")}
    assert required == told
    assert all(row[2].strip() and row[3].strip() for row in rows)
