"""When a page is at rest: everything asked of the server is answered, drawn, and nothing moves any more.

A wait of a fixed length is too long on a fast machine and too short on a slow one. So the page itself notes what it
asks, what it hears and what changes in it, and a test waits for the last of these to be a moment ago.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Page

# A frame of the screen takes 17 ms: in this many anything begun by a key, a click or an answer has shown itself. [ms]
QUIET_MS = 120
_WATCH = """(() => {
  const rest = window.__rest = {unanswered: false, last: performance.now()};
  const moved = () => { rest.last = performance.now(); };
  const send = WebSocket.prototype.send;
  WebSocket.prototype.send = function (...said) {
    if (!this.heard) {
      this.heard = true;
      this.addEventListener('message', () => { rest.unanswered = false; moved(); });
      this.addEventListener('close', () => { rest.unanswered = false; moved(); });
    }
    rest.unanswered = true;
    moved();
    return send.apply(this, said);
  };
  for (const one of ['click', 'keydown', 'input', 'change', 'scroll', 'resize']) addEventListener(one, moved, true);
  new MutationObserver(moved).observe(document, {subtree: true, childList: true, characterData: true,
    attributes: true, attributeFilter: ['data-test-script-state', 'data-stale', 'open', 'class', 'style', 'width', 'height']});
})()"""
_AT_REST = """quiet => {
  const app = document.querySelector('[data-testid=stApp]');
  const drawn = [...document.querySelectorAll('[data-testid=stVegaLiteChart]')]
    .every(chart => chart.querySelector('svg, canvas')) && !document.querySelector('[data-testid=stSkeleton]');
  return app && app.dataset.testScriptState === 'notRunning' && !document.querySelector('[data-testid=stStatusWidget]')
    && drawn && !window.__rest.unanswered && performance.now() - window.__rest.last > quiet;
}"""


def watched(page: Page) -> Page:
    """The page, noting what it asks, hears and changes from its first address on."""
    page.add_init_script(_WATCH)
    return page


def settle(page: Page) -> None:
    """Wait until a watched page is at rest, and shows no failure of the app's own."""
    page.wait_for_function(_AT_REST, arg=QUIET_MS)
    assert page.get_by_test_id("stException").count() == 0
