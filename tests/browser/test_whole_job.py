"""The whole job in a real browser, from an empty library: need, record from a log, fit, cable, winter, comparison."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from tests.browser.at_rest import settle, watched

sync_api = pytest.importorskip("playwright.sync_api")

pytestmark = [pytest.mark.browser, pytest.mark.timeout(900)]  # some forty answers of 500 runs each

LOG = Path(__file__).resolve().parent.parent.parent / "profiles" / "logs" / "bench_unit_one_invented.csv"
LOOKS = [("light", 1280), ("dark", 390)]  # each look and each width; `test_accessibility` has all four
PATIENCE_MS = 120_000
NARROW_PX = 768  # the framework folds the navigation away below this width
SIDEWAYS = "(m => m.scrollWidth - m.clientWidth)(document.querySelector('[data-testid=stMain]'))"
# how much of the verdict is hidden behind the framework's own bar, or out of view [px]
BAR_HIDDEN = """() => { const bar = document.querySelector('.st-key-verdict_bar').getBoundingClientRect();
  const top = document.querySelector('[data-testid=stHeader]').getBoundingClientRect().bottom;
  return Math.max(top - bar.top, bar.bottom - innerHeight, 0); }"""


@dataclass
class Adviser:
    """Somebody at the app: what is done, and what the page complained of and fetched meanwhile."""

    page: sync_api.Page
    url: str
    width: int
    errors: list[str] = field(default_factory=list)
    hosts: set[str] = field(default_factory=set)

    def settle(self) -> None:
        settle(self.page)

    def go(self, title: str) -> None:
        if self.width < NARROW_PX:
            self.page.get_by_test_id("stExpandSidebarButton").click()
        self.page.get_by_role("link", name=title, exact=True).click()
        if self.width < NARROW_PX:
            self.page.get_by_test_id("stSidebarCollapseButton").get_by_role("button").click()
        self.page.get_by_role("heading", level=1).first.wait_for()
        self.settle()
        assert self.page.evaluate(SIDEWAYS) == 0, title

    def enter(self, label: str, value: str, number: int = 0) -> None:
        box = self.page.get_by_role("textbox", name=label).nth(number)
        box.fill(value)
        box.press("Enter")
        self.settle()

    def choose(self, label: str, option: str) -> None:
        wanted = self.page.get_by_role("option").filter(has_text=option).first
        self._open_list(label)
        if wanted.count() == 0:  # a long list on a small screen draws what is in view alone
            self.page.keyboard.type(option)
        wanted.click()
        self.settle()

    def _open_list(self, label: str) -> None:
        box = self.page.get_by_role("combobox", name=label)
        box.evaluate("one => one.scrollIntoView({block: 'center'})")  # a list closes when the page is scrolled
        self.settle()
        box.click()
        self.page.get_by_role("option").first.wait_for()

    def press(self, label: str) -> None:
        self.page.get_by_role("button", name=label, exact=True).first.click()
        self.settle()

    def open(self, title: str) -> None:
        self.page.get_by_text(title, exact=True).first.click()
        self.settle()

    def download(self, label: str, path: Path) -> None:
        with self.page.expect_download() as waiting:
            self.page.get_by_role("button", name=label).click()
        waiting.value.save_as(path)

    def reload(self) -> None:
        self.page.reload()
        self.page.locator(".st-key-verdict_bar").get_by_text("outings of ten").wait_for()
        self.page.get_by_role("heading", level=1).first.wait_for()  # the bar stands before the page does
        self.settle()

    @property
    def verdict(self) -> str:
        return str(self.page.locator(".st-key-verdict_bar").inner_text())


@pytest.fixture(params=LOOKS, ids=lambda look: f"{look[0]}-{look[1]}")
def adviser(
    request: pytest.FixtureRequest, browser: sync_api.Browser, empty_app_url: str
) -> Iterator[Adviser]:
    scheme, width = request.param
    context = browser.new_context(viewport={"width": width, "height": 850}, color_scheme=scheme)
    context.set_default_timeout(PATIENCE_MS)
    found = Adviser(watched(context.new_page()), empty_app_url, width)
    page = found.page
    page.on("console", lambda message: found.errors.append(message.text) if _is_ours(message) else None)
    page.on("pageerror", lambda error: found.errors.append(str(error)))
    page.on("request", lambda request: found.hosts.add(urlsplit(request.url).hostname or ""))
    page.on("websocket", lambda socket: found.hosts.add(urlsplit(socket.url).hostname or ""))
    page.goto(empty_app_url)
    page.get_by_text("Before you use it").wait_for()
    found.settle()
    yield found
    context.close()


def _is_ours(message: sync_api.ConsoleMessage) -> bool:
    """An error, unless it is the framework looking for its own service below a page's address before the root."""
    return message.type == "error" and "/_stcore/" not in message.location["url"]


def _enter_the_need(adviser: Adviser, own_library: Path) -> None:
    """The need, before any battery is chosen."""
    page = adviser.page
    adviser.go("Enter and change")
    adviser.choose("Or begin anew, from", "trolling day")
    adviser.press("Begin")
    page.get_by_role("button", name="Throw the draft away").wait_for()
    adviser.settle()
    adviser.enter("Name", "Two men on the reservoir")
    adviser.enter("How long the outing lasts", "6 parsecs")
    assert "parsecs" in page.get_by_test_id("stMain").inner_text() and "No answer yet" in adviser.verdict
    adviser.press("Undo")
    adviser.enter("How long the outing lasts", "9 h")
    assert "540 min" in page.get_by_test_id("stMain").inner_text()
    adviser.press("Copy this load")
    sync_api.expect(page.get_by_text("Load 3:")).to_have_count(1, timeout=PATIENCE_MS)
    adviser.press("Undo")
    sync_api.expect(page.get_by_text("Load 3:")).to_have_count(0, timeout=PATIENCE_MS)
    adviser.reload()  # in the middle: the draft is there again
    lasts = page.get_by_role("textbox", name="How long the outing lasts")
    sync_api.expect(lasts).to_have_value("9 h", timeout=PATIENCE_MS)  # the page is drawn from its top down
    assert list((own_library / "outings").glob("*.toml")) == []
    adviser.press("Save")
    sync_api.expect(page.get_by_text("Saved: Two men on the reservoir")).to_have_count(1, timeout=PATIENCE_MS)
    (outing,) = (own_library / "outings").glob("*.toml")
    assert "# Read the current at three speeds at least" in outing.read_text()  # comments stay


def _take_the_record_from_a_log(adviser: Adviser, own_library: Path) -> None:
    """The record, from a log."""
    page = adviser.page
    adviser.go("What a bench log says")
    adviser.choose("Log", "My own file")
    page.locator("input[type=file]").first.set_input_files(LOG)
    page.get_by_role("button", name="Put them in and look").wait_for()
    adviser.settle()
    adviser.press("Put them in and look")
    page.get_by_role("heading", level=1, name="Enter and change").wait_for()
    adviser.settle()
    adviser.reload()  # once more, before anything was saved
    adviser.open("The unit")
    adviser.enter("Name", "Blue unit")
    adviser.enter("Cells at", "24 °C")
    adviser.press("Save")
    (record,) = (own_library / "batteries").glob("*.toml")
    assert 'temperature = "24 °C"' in record.read_text()
    assert [path.name for path in (own_library / "logs").iterdir()] == ["bench_unit_one_invented.csv"]


def _see_whether_it_fits(adviser: Adviser) -> None:
    """The verdict, which stays in view."""
    page = adviser.page
    adviser.go("Does it fit?")
    assert "Blue unit" in adviser.verdict and "Two men on the reservoir" in adviser.verdict
    page.get_by_text("Before you use it").scroll_into_view_if_needed()
    assert page.evaluate(BAR_HIDDEN) <= 1.0  # the verdict stays in view


def _enter_the_cable(adviser: Adviser) -> None:
    """The cable, reached from what is missing."""
    page = adviser.page
    page.get_by_text("Missing for a full answer").click()
    adviser.settle()  # it unfolds: a link that moves between press and release is not clicked
    page.get_by_role("link", name="Enter it: cable and fuse").click()
    page.get_by_role("heading", level=1, name="Enter and change").wait_for()
    adviser.settle()
    adviser.enter("Gauge", "AWG 14")
    adviser.enter("Length one way", "10 ft")
    adviser.enter("Fuse or breaker", "60 A")
    adviser.press("Save")
    adviser.go("From battery to load")
    page.get_by_role("combobox", name="Try another cable").wait_for()
    adviser.settle()
    before = page.get_by_role("heading", level=2).first.inner_text()
    adviser.choose("Try another cable", "AWG 4")
    assert page.get_by_role("heading", level=2).first.inner_text() != before


def _look_at_winter_and_others(adviser: Adviser) -> None:
    """Charging through the year, and which battery comes first."""
    page = adviser.page
    adviser.go("Charging through the year")
    adviser.choose("Climate, for charging in the cold", "Cold lake cabin")
    page.get_by_text("What would help").wait_for()
    adviser.settle()
    adviser.go("Which battery")
    page.get_by_text("Which test to run next").wait_for()
    assert "Blue unit" in page.get_by_test_id("stMain").inner_text()


def _take_the_answer_home(adviser: Adviser, tmp_path: Path) -> None:
    """The answer as JSON, the sheet as PDF and as text."""
    page = adviser.page
    adviser.go("Does it fit?")
    page.get_by_text("Before you use it").wait_for()
    saved = tmp_path / "answer.json"
    adviser.download("Answer as JSON", saved)
    answer = json.loads(saved.read_text())
    assert (answer["battery"], answer["outing"]) == ("Blue unit", "Two men on the reservoir")
    assert {"wiring", "winter_charging"} <= {check["id"] for check in answer["checks"]}

    adviser.press("Make the sheet")
    page.get_by_role("button", name="Download the sheet (PDF)").wait_for()
    adviser.download("Download the sheet (PDF)", tmp_path / "sheet.pdf")
    printed = subprocess.run(["pdftotext", tmp_path / "sheet.pdf", "-"], capture_output=True, check=True, text=True).stdout
    assert "Blue unit" in printed and "Two men on the reservoir" in printed
    adviser.choose("Kind of file", "Text, for a message")
    adviser.press("Make the sheet")
    page.get_by_role("button", name="Download the sheet (TXT)").wait_for()
    adviser.download("Download the sheet (TXT)", tmp_path / "sheet.txt")
    told = (tmp_path / "sheet.txt").read_text()
    assert "Blue unit" in told and "Two men on the reservoir" in told
    assert "in nine outings of ten at least" in " ".join(f"{told} {printed}".lower().split())


def test_the_whole_job_from_an_empty_library(adviser: Adviser, own_library: Path, tmp_path: Path) -> None:
    _enter_the_need(adviser, own_library)
    _take_the_record_from_a_log(adviser, own_library)
    _see_whether_it_fits(adviser)
    _enter_the_cable(adviser)
    _look_at_winter_and_others(adviser)
    _take_the_answer_home(adviser, tmp_path)
    adviser.go("Library")
    adviser.download("Download as zip", tmp_path / "library.zip")
    assert (tmp_path / "library.zip").read_bytes()[:2] == b"PK"
    assert adviser.errors == []
    assert adviser.hosts == {"localhost"}


def test_the_units_change_on_every_page_and_outlive_a_reload(adviser: Adviser) -> None:
    page = adviser.page
    assert "°C" in page.get_by_test_id("stMain").inner_text()
    adviser.press("Units")
    adviser.press("US customary")
    page.keyboard.press("Escape")
    for title in ("Does it fit?", "From battery to load"):
        adviser.go(title)
        shown = page.get_by_test_id("stMain").inner_text()
        assert "°F" in shown and "°C" not in shown, title
    adviser.reload()
    page.get_by_test_id("stMain").get_by_text("°F").filter(visible=True).first.wait_for()  # a table holds unseen cells
    assert "°C" not in page.get_by_test_id("stMain").inner_text()
    assert adviser.errors == []
