"""A page of the app other than the first, opened with its choices made."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

ROOT = Path(__file__).resolve().parent.parent.parent


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The library of every test of a page, empty at first."""
    monkeypatch.setenv("PLANNER_LIBRARY", str(tmp_path / "library"))
    return tmp_path / "library"


@pytest.fixture
def open_page() -> Callable[..., AppTest]:
    """Opens a page by its file's name; the choices are session keys and their values."""

    def opened(name: str, **choices: str) -> AppTest:
        page = AppTest.from_file(str(ROOT / "app.py"), default_timeout=60)
        page.run()
        page.switch_page(f"planner/screens/{name}.py")
        page.run()
        for key, value in choices.items():
            page.selectbox(key=key).set_value(value)
        page.run()
        assert not page.exception
        for key, value in choices.items():
            assert page.selectbox(key=key).value == value
        return page

    return opened
