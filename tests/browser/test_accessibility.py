"""Every page by axe-core against WCAG 2.2 A and AA, on a phone of 360 px and a desk, with motion reduced; and by keyboard.

axe-core comes with the wheel of axe-playwright-python; it runs in the page and asks nothing of the network.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

sync_api = pytest.importorskip("playwright.sync_api")
axe = pytest.importorskip("axe_playwright_python")

pytestmark = pytest.mark.browser

ROOT = Path(__file__).resolve().parent.parent.parent
SCRIPT = (Path(axe.__file__).parent / "axe.min.js").read_text(encoding="utf-8")
# "wcag22aa" holds the size of targets, 24 px (WCAG 2.2, 2.5.8)
RUN = """async () => (await axe.run(document, {
    runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'], resultTypes: ['violations']
})).violations.flatMap(v => v.nodes.map(n => [v.impact, v.id, n.target.join(' '), n.html.slice(0, 200), n.failureSummary]))"""
SIDEWAYS = "(m => m.scrollWidth - m.clientWidth)(document.querySelector('[data-testid=stMain]'))"
DRAWN = "[...document.querySelectorAll('[data-testid=stVegaLiteChart]')].every(chart => chart.querySelector('svg, canvas'))"
FOLLOWS = """() => {
    const now = document.activeElement, before = window.lastFocus
    window.lastFocus = now
    if (now === document.body) return 'end'
    const box = now.getBoundingClientRect(), style = getComputedStyle(now)
    if (box.width * box.height === 0 || style.visibility === 'hidden') return 'unseen: ' + now.outerHTML.slice(0, 200)
    const back = before && before.isConnected && (before.compareDocumentPosition(now) & Node.DOCUMENT_POSITION_PRECEDING)
    return back ? 'back: ' + now.outerHTML.slice(0, 200) : 'on'
}"""
PATIENCE_MS = 60_000
ADDRESSES = ("", *re.findall(r'url_path="(\w+)"', (ROOT / "app.py").read_text(encoding="utf-8")))


def opened(context: sync_api.BrowserContext, address: str) -> sync_api.Page:
    """The page, drawn to its end."""
    page = context.new_page()
    page.goto(address)
    page.get_by_role("heading", level=1).first.wait_for()
    page.locator("[data-testid=stStatusWidget]").wait_for(state="detached")
    page.wait_for_load_state("networkidle")
    page.wait_for_function(DRAWN)
    return page


@pytest.mark.parametrize("address", ADDRESSES, ids=lambda address: address or "first")
@pytest.mark.parametrize(("scheme", "width"), [("light", 1280), ("dark", 1280), ("light", 360), ("dark", 360)])
def test_no_page_has_a_serious_finding_or_scrolls_sideways(
    look: Callable[..., sync_api.BrowserContext], app_url: str, scheme: str, width: int, address: str
) -> None:
    page = opened(look(scheme, width, still=True), f"{app_url}/{address}")
    page.evaluate(SCRIPT)
    found = page.evaluate(RUN)
    assert [one for one in found if one[0] in ("serious", "critical")] == []
    assert page.evaluate(SIDEWAYS) == 0
    page.close()


def test_axe_finds_what_is_wrong_where_something_is(browser: sync_api.Browser) -> None:
    """The instrument itself: grey on white, a field without a label, a picture without words."""
    page = browser.new_page()
    page.set_content(
        '<html lang="en"><title>x</title><p style="color:#999;background:#fff">grey</p><input><img src="data:,">'
    )
    page.evaluate(SCRIPT)
    assert {one[1] for one in page.evaluate(RUN)} >= {"color-contrast", "label", "image-alt"}
    page.close()


def test_the_tab_key_goes_through_the_first_page_from_top_to_bottom(browser: sync_api.Browser, app_url: str) -> None:
    context = browser.new_context(viewport={"width": 1280, "height": 850})
    context.set_default_timeout(PATIENCE_MS)
    page = opened(context, app_url)
    page.get_by_text("Before you use it").first.wait_for()
    page.evaluate("window.lastFocus = null")
    steps = []
    while len(steps) < 200 and steps[-1:] != ["end"]:
        page.keyboard.press("Tab")
        steps.append(page.evaluate(FOLLOWS))
    assert len(steps) > 10
    assert set(steps) <= {"on", "end"}
    context.close()
