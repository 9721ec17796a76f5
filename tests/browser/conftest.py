"""The app on a port of its own, started once and ended by its own process id; and a real browser."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

import pytest

sync_api = pytest.importorskip("playwright.sync_api")

ROOT = Path(__file__).resolve().parent.parent.parent
FLAGS = (
    "--headless",
    "--no-sandbox",  # our own pages only
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
)
PATIENCE_S = 60.0


@pytest.fixture(scope="session")
def app_url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of the running app. Its library is an empty folder, so that no user's profiles are touched."""
    with running_app(tmp_path_factory.mktemp("library")) as url:
        yield url


@pytest.fixture(scope="session")
def second_app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, str]]:
    """Library and address of an app for tests that save: `own_library` empties it for each."""
    folder = tmp_path_factory.mktemp("second") / "library"
    with running_app(folder) as url:
        yield folder, url


@pytest.fixture
def own_library(second_app: tuple[Path, str]) -> Path:
    """The folder of `empty_app_url`, gone as before the first save."""
    folder, _ = second_app
    if folder.exists():
        shutil.rmtree(folder)
    return folder


@pytest.fixture
def empty_app_url(second_app: tuple[Path, str], own_library: Path) -> str:
    """Address of an app with nothing in its library."""
    assert not own_library.exists()
    return second_app[1]


@contextmanager
def running_app(library: Path, python: str = sys.executable) -> Iterator[str]:
    """The app on a free port, run by that interpreter, ended by its own process id."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [python, "-m", "streamlit", "run", "app.py", "--server.port", str(port)]
    environment = os.environ | {"PLANNER_LIBRARY": str(library)}
    with subprocess.Popen(
        command, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    ) as server:
        try:
            _wait_until_healthy(f"http://localhost:{port}/_stcore/health", server)
            yield f"http://localhost:{port}"
        finally:
            server.terminate()
            try:
                server.wait(timeout=10.0)
            except subprocess.TimeoutExpired:
                server.kill()


def _wait_until_healthy(url: str, server: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        assert server.poll() is None, "the app ended while starting"
        try:
            with urlopen(url, timeout=2.0) as answer:
                if answer.status == 200:
                    return
        except (URLError, ConnectionError, TimeoutError):
            time.sleep(0.05)
    raise AssertionError(f"the app did not answer within {PATIENCE_S:.0f} s")


@pytest.fixture(scope="session")
def browser() -> Iterator[sync_api.Browser]:
    """Chromium of the machine; the tests are skipped where there is none."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        pytest.skip("no chromium on this machine")
    with sync_api.sync_playwright() as player:
        opened = player.chromium.launch(executable_path=found, args=list(FLAGS))
        yield opened
        opened.close()


@pytest.fixture(scope="session")
def look(browser: sync_api.Browser) -> Iterator[Callable[..., sync_api.BrowserContext]]:
    """Gives the browser of one look and width, made once: its pages share what was fetched, and nothing else.

    A page is a session of its own to the app; what a test leaves behind in it ends when the test closes the page.
    """
    made: dict[tuple[str, int, bool], sync_api.BrowserContext] = {}

    def of(scheme: str, width: int, still: bool = False) -> sync_api.BrowserContext:
        if (scheme, width, still) not in made:
            motion = "reduce" if still else "no-preference"
            context = browser.new_context(
                viewport={"width": width, "height": 850}, color_scheme=scheme, reduced_motion=motion
            )
            context.set_default_timeout(PATIENCE_S * 1e3)
            made[scheme, width, still] = context
        return made[scheme, width, still]

    yield of
    for context in made.values():
        context.close()
