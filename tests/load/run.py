"""Many visitors at once on an app of its own, on this machine alone.

    python -m tests.load.run [SESSIONS [MINUTES]]     50 for 10 minutes unless stated

Each opens the first page with an outing of its own, which no other has, then every 5 to 15 s another battery or climate
for it. Every look must name the visitor's own outing. Prints looks, errors, median and 95th percentile of a look, beside
the load of the machine, memory before, after the first look of all and at the end, and its growth by session; ends
with 1 when there was an error. The app is started here and ended by its own process id.
"""

from __future__ import annotations

import os
import random
import re
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

import numpy as np

from tests.load.session import Visitor

ROOT = Path(__file__).parents[2]
MOST_SESSIONS, MOST_MINUTES = 200, 60.0
PAUSE_S = (5.0, 15.0)
PATIENCE_S = 120.0


@dataclass(frozen=True, slots=True)
class Told:
    """Memory of the app in MB: before any visitor, the most while they were there, and at the end."""

    looks: int
    errors: tuple[str, ...]
    median_s: float
    p95_s: float
    before_mb: float
    most_mb: float
    end_mb: float

    @property
    def mb_a_session(self) -> float:
        return (self.most_mb - self.before_mb) / max(self.sessions, 1)

    sessions: int = 1


def own_outing(number: int) -> tuple[str, str]:
    """Key and name of one visitor's outing."""
    return f"visitor_{number}", f"Day of visitor {number:03d} (invented)"


def _write_outings(library: Path, visitors: int) -> None:
    """An outing for each visitor, no two of one length."""
    folder = library / "outings"
    folder.mkdir()
    text = (ROOT / "profiles" / "outings" / "trolling_day.toml").read_text(encoding="utf-8")
    for number in range(visitors):
        key, name = own_outing(number)
        own, names = re.subn(r'^name = ".*"$', f'name = "{name}"', text, count=1, flags=re.MULTILINE)
        own, lengths = re.subn(
            r'^duration = ".*"$', f'duration = "{480 + number} min"', own, count=1, flags=re.MULTILINE
        )
        assert names == lengths == 1
        (folder / f"{key}.toml").write_text(own, encoding="utf-8")


@contextmanager
def app(visitors: int) -> Iterator[tuple[int, int]]:
    """A running app's port and process id; its library holds an outing for each visitor and nothing else."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    command = [sys.executable, "-m", "streamlit", "run", "app.py", "--server.port", str(port)]
    with (
        tempfile.TemporaryDirectory() as library,
        subprocess.Popen(command, cwd=ROOT, env=os.environ | {"PLANNER_LIBRARY": library}, stdout=subprocess.DEVNULL,
                         stderr=subprocess.DEVNULL) as server,
    ):  # fmt: skip
        try:
            _write_outings(Path(library), visitors)
            _wait(port, server)
            yield port, server.pid
        finally:
            server.terminate()


def _wait(port: int, server: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        assert server.poll() is None, "the app ended while starting"
        try:
            with urlopen(f"http://localhost:{port}/_stcore/health", timeout=2.0):
                return
        except (URLError, ConnectionError, TimeoutError):
            time.sleep(0.2)
    raise AssertionError("the app did not answer")


def resident_mb(process: int) -> float:
    """Memory a process holds now, as the kernel tells it."""
    status = Path(f"/proc/{process}/status").read_text()
    return int(next(line for line in status.splitlines() if line.startswith("VmRSS")).split()[1]) / 1024.0


def load(
    sessions: int, seconds: float, pause_s: tuple[float, float] = PAUSE_S, seed: int = 1, least: int = 1
) -> Told:
    """That many visitors for that long, each with that many looks at least."""
    with app(sessions) as (port, process):
        warm = Visitor(port, random.Random(0))
        warm.visit(0.0, pause_s)  # what every first visitor pays for: imports and the first answer
        before_mb = most_mb = resident_mb(process)
        until = time.monotonic() + seconds
        visitors = [
            Visitor(port, random.Random(f"{seed} {number}"), own_outing(number)) for number in range(sessions)
        ]
        threads = [
            threading.Thread(target=visitor.visit, args=(until, pause_s, least)) for visitor in visitors
        ]
        for thread in threads:
            thread.start()
        while any(thread.is_alive() for thread in threads):
            most_mb = max(most_mb, resident_mb(process))
            time.sleep(0.5)
        end_mb = resident_mb(process)
    times = np.array([second for visitor in visitors for second in visitor.times_s] or [np.nan])
    errors = tuple(error for visitor in (warm, *visitors) for error in visitor.errors)
    median_s, p95_s = (float(np.percentile(times, share)) for share in (50, 95))
    return Told(len(times), errors, median_s, p95_s, before_mb, most_mb, end_mb, sessions)


def main(words: list[str]) -> int:
    sessions, minutes = int(words[0]) if words else 50, float(words[1]) if len(words) > 1 else 10.0
    if not (1 <= sessions <= MOST_SESSIONS and 0.0 < minutes <= MOST_MINUTES):
        print(f"1 to {MOST_SESSIONS} sessions, at most {MOST_MINUTES:.0f} minutes", file=sys.stderr)
        return 2
    told = load(sessions, 60.0 * minutes)
    print(f"{sessions} sessions, {minutes:g} min: {told.looks} looks, {len(told.errors)} errors; a look takes {told.median_s:.2f} s "
          f"(median), {told.p95_s:.2f} s (95th percentile); memory {told.before_mb:.0f} MB before, {told.most_mb:.0f} MB at most, "
          f"{told.end_mb:.0f} MB at the end: {told.mb_a_session:.1f} MB a session; load of the machine {os.getloadavg()[0]:.1f}")  # fmt: skip
    for error in told.errors[:10]:
        print(error)
    return int(bool(told.errors))


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
