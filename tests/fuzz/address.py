"""Addresses of pages as an input: the page and what stands behind the question mark, foreign text both."""

from __future__ import annotations

import os
import random
from pathlib import Path
from unittest import mock
from urllib.parse import parse_qs, quote_plus

from streamlit.testing.v1 import AppTest

from planner.library.place import DEMO
from planner.screens.state import FIRST, chosen_key
from tests.fuzz import mutations as change

APP = Path(__file__).parents[2] / "app.py"
PAGES = ("fit", "enter", "winter", "wiring", "compare", "many", "bench", "after", "library")
KEYS = (*FIRST, "units", "kind", "at", "library", "embed", "__proto__", "", "\u202e", "battery_in_use", "entered")
VALUES = (
    "unit_one", "cold-lake", "kayak_evening", "no_such_profile", "draft-" + "0" * 32, "draft-../../etc", "x" * 81,
    "own file", "no climate", "battery", "outing", "climate", "case", "capacity_test", "load.2", "top", "11112", "11112€",
    "11112<b>", "99999", "١١١١٢", "11112" + "x" * 9, "batteries",
)  # fmt: skip
LONGEST_ADDRESS = 60_000  # bytes; the web server refuses a longer line


def good() -> list[bytes]:
    """Addresses that the app itself writes."""
    return [
        b"fit?battery=unit_one&outing=kayak_evening&climate=cold-lake&units=11112",
        b"enter?kind=battery&at=capacity_test",
        b"library?kind=batteries&batteries=unit_one",
    ]


def worse(rng: random.Random, data: bytes) -> bytes:
    """Another address: other keys and values, several of one key, now and then damaged bytes or a long one."""
    pairs = [
        f"{quote_plus(rng.choice(KEYS))}={quote_plus(_value(rng), errors='replace')}"
        for _ in range(rng.choice((1, 2, 2, 4, 12)))
    ]
    made = rng.choice(PAGES).encode() + b"?" + "&".join(pairs).encode()
    return (change.some_bytes(rng, made) if rng.random() < 0.2 else made)[:LONGEST_ADDRESS]


def _value(rng: random.Random) -> str:
    chance = rng.random()
    if chance < 0.02:
        return change.LONG[: LONGEST_ADDRESS // 2]
    return rng.choice(VALUES if chance < 0.6 else change.NASTY_TEXTS)


def opened(data: bytes, folder: Path) -> object:
    """The page an address opens: drawn whole, its choices among those that are there, and a lost choice named."""
    page, _, query = data.decode("utf-8", "replace").partition("?")
    asked = parse_qs(query, keep_blank_values=True, errors="replace")
    with mock.patch.dict(os.environ, {"PLANNER_LIBRARY": str(folder / "library")}):
        app = AppTest.from_file(str(APP), default_timeout=60)
        app.query_params.update(asked)
        app.run()
        _whole(app)
        told = [each.value for each in app.warning]
        for kind, first in FIRST.items():
            chosen = app.session_state[chosen_key(kind)]
            assert chosen == first or list(DEMO.glob(f"*/{chosen}.toml")), chosen
            wanted = asked.get(kind, [""])[-1]
            if wanted == "no_such_profile":
                assert any(kind in text and "no\\_such\\_profile" in text for text in told), told
        if page in PAGES[1:]:
            app.switch_page(f"planner/screens/{page}_page.py")
            app.query_params.update(asked)
            app.run()
            _whole(app)
    return told


def _whole(app: AppTest) -> None:
    assert not app.exception, [each.value for each in app.exception]
    assert app.markdown, "an empty page"
