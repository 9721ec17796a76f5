"""The pages beside the first one in a real browser, reached by the navigation: once light and wide, once dark and narrow."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.at_rest import settle, watched

sync_api = pytest.importorskip("playwright.sync_api")

pytestmark = pytest.mark.browser

# link in the navigation, a text near the end of the page
PAGES = {
    "Enter and change": "The file’s own text",
    "Charging through the year": "Choose where the battery lives",
    "From battery to load": "To know about the cable",
    "Which battery": "Which test to run next on the chosen battery",
    "What a bench log says": "The whole audit, with the replay of its tests",
    "Library": "A zip taken out elsewhere",
}
PATIENCE_MS = 60_000


@pytest.mark.parametrize(("scheme", "width"), [("light", 1280), ("dark", 390)])
def test_every_page_stands_without_errors_and_without_sideways_scrolling(
    look: Callable[..., sync_api.BrowserContext], app_url: str, scheme: str, width: int
) -> None:
    page = look(scheme, width).new_page()
    errors: list[str] = []
    page.on("console", lambda message: errors.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.goto(app_url)
    page.get_by_text("Before you use it").wait_for()
    for title, last in PAGES.items():
        if width < 768:  # the framework folds the navigation away below this width [px]
            page.get_by_test_id("stExpandSidebarButton").click()
        page.get_by_role("link", name=title).click()
        if width < 768:  # and leaves it standing open over the page
            page.get_by_test_id("stSidebarCollapseButton").get_by_role("button").click()
        page.get_by_role("heading", level=1, name=title).wait_for()
        page.get_by_text(last).first.wait_for()
        wide = page.evaluate(
            "(m => m.scrollWidth - m.clientWidth)(document.querySelector('[data-testid=stMain]'))"
        )
        assert wide == 0, title
        assert errors == [], title
    page.close()


def test_the_way_back_leads_over_each_page_in_a_step_or_two(look: Callable[..., sync_api.BrowserContext], app_url: str) -> None:
    """One step for the page and one for all that its address says; the browser keeps no more of them."""
    page = watched(look("light", 1280).new_page())
    page.goto(f"{app_url}?battery=unit_one&outing=kayak_evening&climate=cold-lake&units=11111")
    page.get_by_text("Before you use it").wait_for()
    begun = page.evaluate("history.length")
    for title in ("Charging through the year", "Which battery"):
        page.get_by_role("link", name=title).click()
        page.get_by_role("heading", level=1, name=title).wait_for()
        settle(page)
    steps = page.evaluate("history.length") - begun
    assert steps <= 4
    for _ in range(steps):
        page.go_back()
        settle(page)
    page.get_by_text("Before you use it").wait_for()
    assert "battery=unit_one" in page.url and "climate=cold-lake" in page.url
    page.close()


@pytest.mark.timeout(600)  # the browser waits for a comparison and some thirty answers
def test_the_limits_are_found_at_the_press_of_a_button(browser: sync_api.Browser, app_url: str) -> None:
    context = browser.new_context(viewport={"width": 1280, "height": 850})
    context.set_default_timeout(4 * PATIENCE_MS)
    page = context.new_page()
    page.goto(app_url)
    page.get_by_text("Before you use it").wait_for()
    page.get_by_role("link", name="Which battery").click()
    page.get_by_role("button", name="Find the limits").click()
    page.get_by_text("Limits as JSON").wait_for()
    assert page.get_by_text("Smallest battery of this kind").count() >= 1
    context.close()
