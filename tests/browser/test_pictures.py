"""The pictures of README.md, taken from the running app; PICTURES=renew puts the new ones in place of the old.

They are compared by size and by being a picture of something: letters differ by a hair from one machine to the next.
"""

from __future__ import annotations

import os
import struct
import zlib
from pathlib import Path

import pytest

from tests.browser.at_rest import settle, watched

sync_api = pytest.importorskip("playwright.sync_api")

pytestmark = [pytest.mark.browser, pytest.mark.timeout(300)]

ROOT = Path(__file__).resolve().parent.parent.parent
KEPT = Path(__file__).parent / "pictures"
RENEW = os.environ.get("PICTURES") == "renew"
HEIGHT_PX, PATIENCE_MS = 840, 120_000
LARGEST = 200_000  # bytes; what a page of text loads without a wait
# file -> address, a text to wait for, width, look
PICTURES = {
    "fit.png": ("/?battery=unit_three&outing=trolling_day", "Three numbers", 1280, "light"),
    "enter.png": ("/enter?battery=unit_one&outing=trolling_day", "Load 1:", 1280, "light"),
    "phone.png": ("/?battery=unit_four&outing=trolling_day", "Three numbers", 390, "dark"),
}


@pytest.mark.parametrize("name", PICTURES)
def test_the_pictures_of_the_readme_are_of_this_app(browser: sync_api.Browser, app_url: str, name: str) -> None:
    address, text, width, look = PICTURES[name]
    context = browser.new_context(viewport={"width": width, "height": HEIGHT_PX}, color_scheme=look)
    context.set_default_timeout(PATIENCE_MS)
    page = watched(context.new_page())
    page.goto(app_url + address)
    page.get_by_text(text).first.wait_for()
    settle(page)
    taken = page.screenshot()
    context.close()
    assert shades(taken) > 20  # letters on paper have many; an empty page has few
    if RENEW:
        KEPT.mkdir(exist_ok=True)
        (KEPT / name).write_bytes(taken)
    kept = (KEPT / name).read_bytes()
    assert kept[:24] == taken[:24]  # a PNG of the same size
    assert len(kept) <= LARGEST
    assert f"tests/browser/pictures/{name}" in (ROOT / "README.md").read_text()


def shades(png: bytes) -> int:
    """How many different bytes a PNG's rows hold, filters and all. Source: PNG, W3C (2003), 5.3: length, type, data."""
    at, data = 8, b""
    while at < len(png):
        (length,) = struct.unpack(">I", png[at : at + 4])
        if png[at + 4 : at + 8] == b"IDAT":
            data += png[at + 8 : at + 8 + length]
        at += 12 + length
    return len(set(zlib.decompress(data)))


def test_every_picture_kept_is_shown() -> None:
    assert {path.name for path in KEPT.iterdir()} == set(PICTURES)
