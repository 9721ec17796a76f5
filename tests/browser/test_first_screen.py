"""The first screen in a real browser: light and dark, desk and phone."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

import pytest

sync_api = pytest.importorskip("playwright.sync_api")

pytestmark = pytest.mark.browser

LOOKS = [(scheme, width) for scheme in ("light", "dark") for width in (1280, 390)]
SETTLED = "document.querySelector('[data-testid=stApp]').dataset.testScriptState === 'notRunning'"
# how far the last thing inside each chart reaches beyond the chart itself [px]
OVERHANG = """() => [...document.querySelectorAll('[data-testid=stVegaLiteChart]')].map(chart => {
  const room = chart.getBoundingClientRect(), drawn = chart.querySelector('canvas, svg').getBoundingClientRect();
  return Math.max(drawn.right - room.right, room.left - drawn.left, 0); })"""


@dataclass
class Visit:
    """One page and what it said and fetched."""

    page: sync_api.Page
    errors: list[str] = field(default_factory=list)
    hosts: set[str] = field(default_factory=set)


@pytest.fixture(params=LOOKS, ids=lambda look: f"{look[0]}-{look[1]}")
def visit(
    request: pytest.FixtureRequest, look: Callable[..., sync_api.BrowserContext], app_url: str
) -> Iterator[Visit]:
    seen = Visit(look(*request.param).new_page())
    seen.page.on("console", lambda message: seen.errors.append(message.text) if message.type == "error" else None)
    seen.page.on("pageerror", lambda error: seen.errors.append(str(error)))
    seen.page.on("request", lambda request: seen.hosts.add(urlsplit(request.url).hostname or ""))
    seen.page.on("websocket", lambda socket: seen.hosts.add(urlsplit(socket.url).hostname or ""))
    seen.page.goto(app_url)
    seen.page.get_by_text("Before you use it").wait_for()
    seen.page.locator("[data-testid=stVegaLiteChart] canvas, [data-testid=stVegaLiteChart] svg").nth(3).wait_for()
    yield seen
    seen.page.close()


def test_the_verdict_comes_first_in_the_look_wished_for_and_nothing_is_cut_off_or_fetched_from_elsewhere(
    visit: Visit, request: pytest.FixtureRequest
) -> None:
    page = visit.page
    heading = page.get_by_role("heading", level=1)
    assert "Fits with limits" in heading.inner_text()
    box, choice = heading.bounding_box(), page.get_by_role("combobox", name="Battery as tested").bounding_box()
    assert box is not None and choice is not None
    assert box["y"] + box["height"] < choice["y"]
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    inner = page.evaluate("(m => m.scrollWidth - m.clientWidth)(document.querySelector('[data-testid=stMain]'))")
    assert (wide, inner) == (0, 0)
    overhang = page.evaluate(OVERHANG)
    paper = page.evaluate("getComputedStyle(document.querySelector('.stApp')).backgroundColor")
    red = int(paper.split("(")[1].split(",")[0])
    assert (red < 128) == ("dark" in request.node.callspec.id)
    assert len(overhang) == 4 and max(overhang) <= 1.0  # 1 px: the canvas is laid out in whole pixels
    assert visit.errors == []
    assert visit.hosts == {"localhost"}


def test_another_battery_gets_another_verdict_and_the_answer_can_be_taken_home(visit: Visit, tmp_path: Path) -> None:
    page = visit.page
    page.get_by_role("combobox", name="Battery as tested").click()
    page.get_by_role("option").filter(has_text="Demo unit four").click()
    page.get_by_role("heading", level=1).filter(has_text="Does not fit").wait_for()
    page.wait_for_function(SETTLED)  # the verdict stands before the page below it is drawn
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Answer as JSON").click()
    saved = tmp_path / "answer.json"
    waiting.value.save_as(saved)
    answer = json.loads(saved.read_text())
    assert answer["verdict"] == "does not fit"
    assert answer["battery"].startswith("Demo unit four")
    assert visit.errors == []


def test_a_bad_file_is_told_in_words_and_shown_as_text(visit: Visit) -> None:
    page = visit.page
    page.get_by_role("combobox", name="Outing as planned").click()
    page.get_by_role("option").filter(has_text="My own file").click()
    page.get_by_text("Upload your file below").wait_for()
    bad = b'format = 1\nname = "x"\nduration = "4 parsecs"\nambient = "20 degC"\n[[load]]\nname = "l"\nkind = "<b>w</b>"\n'
    page.locator("input[type=file]").first.set_input_files(
        {"name": "my <i>plan</i>.toml", "mimeType": "application/toml", "buffer": bad}
    )
    page.get_by_role("heading", level=1).filter(has_text="No answer yet").wait_for()
    page.wait_for_function(SETTLED)
    shown = page.locator("[data-testid=stMain]").inner_text()
    assert "4 parsecs" in shown and "<b>w</b>" in shown
    assert visit.errors == []
