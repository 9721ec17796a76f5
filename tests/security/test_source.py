"""What the planner's own code must never do, read from its syntax trees."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SOURCES = sorted([ROOT / "app.py", *(ROOT / "planner").rglob("*.py")])
# Modules that run what they read, that start programs, or that reach out over a network.
FORBIDDEN_MODULES = {
    "pickle", "cPickle", "marshal", "shelve", "dill", "joblib", "cloudpickle", "yaml", "subprocess", "ctypes", "runpy", "code",
    "socket", "ssl", "http", "urllib", "requests", "httpx", "aiohttp", "ftplib", "smtplib", "telnetlib", "webbrowser", "xmlrpc",
}  # fmt: skip
FORBIDDEN_CALLS = {
    "eval",
    "exec",
    "compile",
    "__import__",
    "system",
    "popen",
    "read_pickle",
    "to_pickle",
    "literal_eval",
    "extractall",
    "extract",
}
FORBIDDEN_WORDS = {"unsafe_allow_html", "allow_pickle", "persist", "shell"}
PAGE_HTML = {"html", "iframe", "components"}
SECRET = re.compile(
    r"-----BEGIN [A-Z ]*PRIVATE KEY-----|\bAKIA[0-9A-Z]{16}\b|\bgh[pousr]_[A-Za-z0-9]{30,}|(?i:(password|secret|api_key|token)\s*=\s*[\"'][^\"']{8,})"
)


def trees() -> Iterator[tuple[Path, ast.AST]]:
    for path in SOURCES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            yield path, node


def called(node: ast.Call) -> str:
    return (
        node.func.attr
        if isinstance(node.func, ast.Attribute)
        else node.func.id
        if isinstance(node.func, ast.Name)
        else ""
    )


def offences(path: Path, node: ast.AST) -> list[str]:
    """What a node does that it must not."""
    found = []
    if isinstance(node, ast.Import):
        found += [name.name for name in node.names if name.name.split(".")[0] in FORBIDDEN_MODULES]
    if isinstance(node, ast.ImportFrom) and node.module and node.module.split(".")[0] in FORBIDDEN_MODULES:
        found.append(node.module)
    if isinstance(node, ast.Call):
        own = (
            isinstance(node.func, ast.Attribute)
            and isinstance(node.func.value, ast.Name)
            and node.func.value.id in {"re", "typst"}
        )
        if (
            called(node) in FORBIDDEN_CALLS and not own
        ):  # re.compile and typst.compile run nothing of a stranger's
            found.append(f"{called(node)}()")
        found += [str(word.arg) for word in node.keywords if word.arg in FORBIDDEN_WORDS]
    if (
        isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name)
        and node.value.id == "st"
        and node.attr in PAGE_HTML
    ):
        found.append(f"st.{node.attr}")
    return found


def test_nothing_read_is_ever_run_and_no_page_is_made_of_others_html() -> None:
    assert len(SOURCES) > 100
    found = [(path.name, what) for path, node in trees() for what in offences(path, node)]
    # the page's own style: constants of its module and colours of .streamlit/config.toml, nothing that was read
    assert found == [("look.py", "st.html")]


@pytest.mark.parametrize(
    "line",
    ["import pickle", "from subprocess import run", "eval(x)", "st.html(x)", "st.markdown(x, unsafe_allow_html=True)", "archive.extractall(x)",
     "numpy.load(x, allow_pickle=True)", "import urllib.request", "os.system(x)", "pd.read_pickle(x)"],
)  # fmt: skip
def test_each_of_these_would_be_seen(line: str) -> None:
    assert any(offences(Path("x.py"), node) for node in ast.walk(ast.parse(line)))


def test_the_app_is_set_up_for_this_machine_alone() -> None:
    settings = tomllib.loads((ROOT / ".streamlit" / "config.toml").read_text(encoding="utf-8"))
    server = settings["server"]
    assert server["address"] == "localhost"
    assert server["enableXsrfProtection"] is True
    assert server.get("enableCORS", True) is True
    assert server["maxUploadSize"] <= 20
    assert settings["browser"]["gatherUsageStats"] is False
    assert settings["client"]["showErrorDetails"] == "none"


def test_there_are_no_secrets_in_the_project() -> None:
    kinds = {".py", ".toml", ".md", ".txt", ".csv", ".ini", ".typ"}
    hidden = (".git", ".venv", ".mypy_cache", ".ruff_cache", ".pytest_cache", ".hypothesis")
    files = [
        path
        for path in ROOT.rglob("*")
        if path.suffix in kinds and not any(part in hidden for part in path.relative_to(ROOT).parts)
    ]
    assert len(files) > 200
    found = [
        path.name
        for path in files
        if path != Path(__file__) and SECRET.search(path.read_text(encoding="utf-8", errors="replace"))
    ]
    assert found == []
    assert SECRET.search('password = "correct horse"')
