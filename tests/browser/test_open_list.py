"""A list that is opened while the page above it is still being drawn stays open, and takes a choice."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.at_rest import settle, watched

sync_api = pytest.importorskip("playwright.sync_api")

pytestmark = [pytest.mark.browser, pytest.mark.timeout(300)]

BATTERIES = ("Demo unit four", "Demo unit two", "Demo unit one", "Demo unit four", "Demo unit three")


def put_in_view(page: sync_api.Page, field: sync_api.Locator) -> None:
    """The field at rest in the middle of the page, so that a click needs no scrolling of the driver's own."""
    field.evaluate("one => one.scrollIntoView({block: 'center'})")
    settle(page)


def touch_open(page: sync_api.Page, field: sync_api.Locator) -> dict[str, float]:
    """Open a list as a finger does, and tell where its field stood.

    The driver's own click may scroll the field into view first, which closes any list. A field that moves away under
    the finger is touched again.
    """
    for _ in range(3):
        box: dict[str, float] | None = field.bounding_box()
        assert box is not None
        page.mouse.click(box["x"] + box["width"] / 2.0, box["y"] + box["height"] / 2.0)
        try:
            page.get_by_role("option").first.wait_for(timeout=5_000)
            return box
        except sync_api.TimeoutError:
            put_in_view(page, field)
    raise AssertionError("no list opened at three touches")


@pytest.mark.parametrize("width", [390, 1280])
def test_an_open_list_outlives_a_verdict_above_it_that_grows(
    look: Callable[..., sync_api.BrowserContext], app_url: str, width: int
) -> None:
    page = watched(look("light", width).new_page())
    page.goto(app_url)
    page.get_by_text("Before you use it").wait_for()
    settle(page)
    battery, outing = (page.get_by_role("combobox", name=name) for name in ("Battery as tested", "Outing as planned"))
    moved = []
    for name in BATTERIES:
        put_in_view(page, battery)
        battery.click()
        page.get_by_role("option").filter(has_text=name).click()
        page.get_by_role("option").first.wait_for(state="detached")
        before = touch_open(page, outing)
        settle(page)  # with all that is drawn laid out
        assert page.get_by_role("option").count() > 5, name
        after = outing.bounding_box()
        assert after is not None
        moved.append(abs(after["y"] - before["y"]))
        page.keyboard.press("Escape")
        page.get_by_role("option").first.wait_for(state="detached")
    assert width > 390 or max(moved) > 40.0  # a line or two at least: else nothing was tried
    put_in_view(page, outing)
    outing.click()
    page.get_by_role("option").filter(has_text="winch").click()
    page.locator(".st-key-verdict_bar").get_by_text("winch").first.wait_for()
    page.close()


def test_fields_stay_the_same_to_the_browser_when_a_line_is_told_above_them(
    look: Callable[..., sync_api.BrowserContext], empty_app_url: str
) -> None:
    page = watched(look("light", 1280).new_page())

    def enter(value: str) -> None:
        box = page.get_by_role("textbox", name="How long the outing lasts").first
        box.fill(value)
        box.press("Enter")
        settle(page)

    page.goto(f"{empty_app_url}/enter?kind=outing")
    page.get_by_role("button", name="Begin", exact=True).click()
    page.get_by_role("button", name="Throw the draft away").wait_for()
    settle(page)
    page.evaluate("window.held = document.querySelectorAll('input[role=combobox]')[1]")
    steps: list[tuple[str, Callable[[], None]]] = [
        ("an answer", lambda: enter("7 h")),
        ("no answer", lambda: enter("7 parsecs")),
        ("an answer again", lambda: enter("7 h")),
        ("saved", lambda: page.get_by_role("button", name="Save", exact=True).click()),
        ("changed after it was saved", lambda: enter("8 h")),
    ]
    for what, step in steps:
        step()
        settle(page)
        assert page.evaluate("window.held.isConnected"), what
    page.close()
