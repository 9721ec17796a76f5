"""How fast the app answers a change, in a real browser, 500 draws: 50 changes of loads and cable, no two alike.

    python -m tests.benchmarks.app_response [CHANGES [PYTHON]]

PYTHON is the interpreter the app runs under: that of an environment with requirements.txt alone is what a user has; this
one unless stated, where the framework loads libraries of the tests as well, and starts some tenths of a second later.

Each change is typed into a field of the editor. Timed inside the page, from the key that ends the typing: until the
verdict bar tells the new answer, and until the page is at rest. Beside it: from the start of the server to the first
page's verdict, and the same of a second visitor. The app was started before, so that what the first start on a computer
compiles and keeps (the engine, Python's byte code) is there.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
import time
from itertools import cycle, islice
from pathlib import Path

import numpy as np
from playwright.sync_api import Browser, Page, sync_playwright

from tests.browser.conftest import FLAGS, running_app

PATIENCE_MS = 60_000
# field's label, which of that label on the page, and its values; every outing of the run is another one
FIELDS = (
    ("Current (A)", 0, lambda k: f"{1.0 + 0.01 * k:.2f} A"),
    ("or area", 0, lambda k: f"{16.0 + 0.1 * k:.1f} mm^2"),
    ("Length one way", 0, lambda k: f"{2.0 + 0.01 * k:.2f} m"),
    ("How long the outing lasts", 0, lambda k: f"{480 + k} min"),
    ("How far it may be off", 0, lambda k: f"{5.0 + 0.05 * k:.2f} %"),
)
# both moments of a change, by the page's own clock [ms]
WATCH = """() => {
  const app = document.querySelector('[data-testid=stApp]');
  const at = window.__at = {keyed: 0, told: 0, rest: 0};
  addEventListener('keydown', e => { if (e.key === 'Enter') {
    at.keyed = performance.now(); at.told = at.rest = 0; at.before = bar(); at.ran = false; } }, true);
  const bar = () => (document.querySelector('.st-key-verdict_bar') || {}).innerText;
  const look = () => {
    const now = performance.now();
    if (!at.keyed) return;
    if (!at.told && bar() !== at.before) at.told = now;
    const state = app.dataset.testScriptState;
    if (state === 'running') { at.ran = true; at.rest = 0; }
    else if (at.ran && !at.rest) at.rest = now;
  };
  new MutationObserver(look).observe(document.body, {subtree: true, childList: true, characterData: true,
    attributes: true, attributeFilter: ['data-test-script-state', 'data-stale']});
}"""
AT_REST = "() => window.__at.rest > 0 && performance.now() - window.__at.rest > 250"


def first_page(browser: Browser, url: str) -> tuple[Page, float]:
    """A new visitor's page, and how long until its verdict stands [s]."""
    page = browser.new_context(viewport={"width": 1280, "height": 900}).new_page()
    page.set_default_timeout(PATIENCE_MS)
    began = time.monotonic()
    page.goto(url)
    page.locator(".st-key-verdict_bar").get_by_text("outings of ten").wait_for()
    told = time.monotonic() - began
    page.get_by_text("Before you use it").wait_for()
    return page, told


def begin(page: Page) -> None:
    """A draft of the trolling day with a cable, in the editor."""
    page.get_by_role("link", name="Enter and change", exact=True).click()
    page.get_by_role("button", name="Begin").click()
    page.get_by_role("button", name="Throw the draft away").wait_for()
    page.wait_for_timeout(1500)
    page.get_by_text("Cable and fuse", exact=True).first.click()
    page.get_by_role("textbox", name="Length one way").wait_for()
    page.evaluate(WATCH)


def change(page: Page, label: str, number: int, value: str) -> tuple[float, float]:
    """Type a value; until the verdict bar changed and until the page is at rest [s]. The bar may say the same."""
    box = page.get_by_role("textbox", name=label).nth(number)
    box.fill(value)
    box.press("Enter")
    page.wait_for_function(AT_REST)
    at = page.evaluate("() => window.__at")
    return (at["told"] - at["keyed"]) / 1e3 if at["told"] else float("nan"), (at["rest"] - at["keyed"]) / 1e3


def told(what: str, times: list[float]) -> None:
    known = np.array([each for each in times if each == each])
    share = np.percentile(known, [50, 95]) if known.size else (np.nan, np.nan)
    print(f"{what:44s} median {share[0]:.3f} s, 95th percentile {share[1]:.3f} s, of {known.size}", flush=True)


def main(words: list[str]) -> int:
    changes = int(words[0]) if words else 50
    python = words[1] if len(words) > 1 else sys.executable
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    assert found is not None, "no chromium on this machine"
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as player:
        browser = player.chromium.launch(executable_path=found, args=list(FLAGS))
        os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # who forbids it here does not measure what a user has
        with running_app(Path(folder), python) as url:
            first_page(browser, url)[0].context.close()
        began = time.monotonic()
        with running_app(Path(folder), python) as url:
            healthy = time.monotonic() - began
            page, verdict = first_page(browser, url)
            print(f"start: serving after {healthy:.2f} s, the first visitor's verdict {verdict:.2f} s later")
            page.context.close()
            page, again = first_page(browser, url)
            print(f"a second visitor's verdict after {again:.2f} s")
            begin(page)
            for label, number, value in FIELDS:  # the first of each opens what the field needs
                change(page, label, number, value(7 * changes))
            bars, rests = [], []
            for k, (label, number, value) in enumerate(islice(cycle(FIELDS), changes)):
                bar, rest = change(page, label, number, value(k))
                bars.append(bar)
                rests.append(rest)
            told("a change in the editor: verdict told", bars)
            told("a change in the editor: page at rest", rests)
        browser.close()
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
