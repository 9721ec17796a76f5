"""The app as it runs: who may reach it, who may send it files, and that addresses choose nothing."""

from __future__ import annotations

import http.client
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

ROOT = Path(__file__).parents[2]
PATIENCE_S = 60.0
HANDSHAKE = {
    "Upgrade": "websocket",
    "Connection": "Upgrade",
    "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ==",
    "Sec-WebSocket-Version": "13",
}


@pytest.fixture(scope="module")
def port(tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    """The running app's port; its library is an empty folder."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        free = int(probe.getsockname()[1])
    environment = os.environ | {"PLANNER_LIBRARY": str(tmp_path_factory.mktemp("library"))}
    command = [sys.executable, "-m", "streamlit", "run", "app.py", "--server.port", str(free)]
    with subprocess.Popen(
        command, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    ) as server:
        try:
            until = time.monotonic() + PATIENCE_S
            while asked(free, "GET", "/_stcore/health")[0] != 200:
                assert server.poll() is None and time.monotonic() < until, "the app did not answer"
                time.sleep(0.2)
            yield free
        finally:
            server.terminate()


def asked(
    port: int, method: str, path: str, body: bytes = b"", headers: dict[str, str] | None = None
) -> tuple[int, bytes]:
    """Status and body of one request; 0 where nobody answers."""
    connection = http.client.HTTPConnection("localhost", port, timeout=10.0)
    try:
        connection.request(method, path, body, headers or {})
        answer = connection.getresponse()
        return answer.status, b"" if answer.status == 101 else answer.read()
    except OSError:
        return 0, b""
    finally:
        connection.close()


def listening(port: int) -> set[str]:
    """Addresses that listen on a port, as the kernel lists them: little-endian hexadecimal."""
    found = set()
    for table in ("/proc/net/tcp", "/proc/net/tcp6"):
        for line in Path(table).read_text().splitlines()[1:]:
            local, state = line.split()[1], line.split()[3]
            if state == "0A" and local.endswith(f":{port:04X}"):
                found.add(local.partition(":")[0])
    return found


def test_only_this_machine_reaches_the_app(port: int) -> None:
    loops = {"0100007F", "00000000000000000000000001000000"}  # 127.0.0.1 and ::1
    found = listening(port)
    assert found
    assert found <= loops


@pytest.mark.parametrize("method", ["PUT", "DELETE"])
def test_a_file_without_the_pages_own_token_is_refused(port: int, method: str) -> None:
    status, _ = asked(
        port,
        method,
        "/_stcore/upload_file/session/file",
        b"x",
        {"Content-Type": "multipart/form-data; boundary=x"},
    )
    assert 400 <= status < 500


def test_a_page_from_elsewhere_opens_no_session(port: int) -> None:
    assert (
        asked(port, "GET", "/_stcore/stream", headers=HANDSHAKE | {"Origin": f"http://localhost:{port}"})[0]
        == 101
    )
    assert (
        asked(port, "GET", "/_stcore/stream", headers=HANDSHAKE | {"Origin": "http://elsewhere.example"})[0]
        == 403
    )


@pytest.mark.parametrize(
    "path",
    [
        "/../../etc/passwd",
        "/%2e%2e/%2e%2e/etc/passwd",
        "/app/static/../../../etc/passwd",
        "/_stcore/../app.py",
    ],
)
def test_an_address_reads_no_file(port: int, path: str) -> None:
    _, body = asked(port, "GET", path)
    assert b"root:" not in body
    assert b"set_page_config" not in body


@pytest.mark.parametrize(
    "asked_for",
    [
        {"battery_chosen": "/etc/passwd"},
        {"outing": "../../etc/passwd"},
        {"x": "<script>alert(1)</script>"},
        {"embed": "true", "library": "/"},
    ],
)
def test_what_stands_behind_the_question_mark_chooses_nothing(asked_for: dict[str, str]) -> None:
    plain, other = (AppTest.from_file(str(ROOT / "app.py"), default_timeout=120) for _ in range(2))
    for key, value in asked_for.items():
        other.query_params[key] = value
    plain.run()
    other.run()
    assert not other.exception
    assert [box.value for box in other.selectbox] == [box.value for box in plain.selectbox]
    assert [text.value for text in other.markdown] == [text.value for text in plain.markdown]
