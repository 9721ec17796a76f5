"""Good inputs of every sort, invented: what a hostile hand starts from."""

from __future__ import annotations

import io
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path

from planner.library.archive_zip import export_zip
from planner.library.companions import add_companion
from planner.library.place import DEMO
from planner.library.store import Library
from tests.winter.weather_writer import epw, tmy3

ROWS = 300  # of a log: enough for a discharge with steps and an end
RECORDED = """format = 1
name = "Morning (invented)"
duration = "2 h"
ambient = "20 degC"
[[load]]
name = "log"
kind = "recorded"
log = "LOG"
between_samples = "hold"
"""
CASE = b'format = 1\nname = "Boat"\nbattery = "unit-one"\nouting = "trolling-day"\nclimate = "cold-lake"\nnote = "hers"\n'
SEAM = b"\n#-#-#-#\n"


def profiles(kind: str) -> Callable[[], list[bytes]]:
    return lambda: [path.read_bytes() for path in sorted((DEMO / kind).glob("*.toml"))]


def log_csv() -> bytes:
    """A discharge with a step and a rest, invented."""
    lines = ["Time (s),Voltage (V),Current (A),Temperature (°C)"]
    for row in range(ROWS):
        amps = 0.0 if row < 5 or row > ROWS - 40 else 75.0 if row % 100 > 70 else 15.0
        volts = 13.4 - 0.003 * amps - (2.5 * (row / (ROWS - 40)) ** 8 if row <= ROWS - 40 else 0.8)
        lines.append(f"{row * 60},{volts:.3f},{amps:.2f},{25 + row / 100:.1f}")
    return ("\n".join(lines) + "\n").encode()


def more_logs() -> list[bytes]:
    good = log_csv().decode()
    semicolons = good.replace(",", ";").replace(".", ",")
    clock = good.replace("Time (s)", "Date")
    rows = clock.split("\n")
    dated = [rows[0]] + [
        f"2026-02-03 {n // 60:02}:{n % 60:02}:00,{row.partition(',')[2]}" for n, row in enumerate(rows[1:-1])
    ]
    return [
        log_csv(),
        semicolons.encode(),
        "\n".join(dated).encode(),
        good.replace("(", "[").replace(")", "]").encode("utf-16"),
    ]


@cache
def sheets() -> tuple[bytes, ...]:
    import openpyxl

    book, packed = openpyxl.Workbook(), io.BytesIO()
    for line in log_csv().decode().splitlines():
        cells: list[object] = [float(cell) if cell[0].isdigit() else cell for cell in line.split(",")]
        book.active.append(cells)
    book.save(packed)
    return (packed.getvalue(),)


@cache
def parquets() -> tuple[bytes, ...]:
    import pandas as pd

    frame = pd.read_csv(io.BytesIO(log_csv()))
    odd = frame.assign(
        **{"Time (s)": pd.to_datetime(frame["Time (s)"], unit="s"), "Note": ["=1+1"] * len(frame)}
    )
    nested = frame.assign(**{"Voltage (V)": [[volts] for volts in frame["Voltage (V)"]]})
    return tuple(_parquet(one) for one in (frame, odd, nested, frame.astype(str)))


def _parquet(frame: object) -> bytes:
    packed = io.BytesIO()
    frame.to_parquet(packed)  # type: ignore[attr-defined]
    return packed.getvalue()


@cache
def zips() -> tuple[bytes, ...]:
    with tempfile.TemporaryDirectory() as scratch:
        library = Library(Path(scratch) / "library", DEMO)
        log = add_companion(library, "logs", "run.csv", log_csv())
        recorded = RECORDED.replace("LOG", log)
        library.save("outings", "Morning (invented)", recorded, None)
        library.save("batteries", "Unit (invented)", profiles("batteries")()[0].decode(), None)
        library.save(
            "cases", "Boat", 'format = 1\nname = "Boat"\nouting = "morning-invented"\nnote = "hers"\n', None
        )
        held = [(kind, entry.name) for kind in ("outings", "batteries", "cases") for entry in library.list_profiles(kind)
                if not entry.read_only]  # fmt: skip
        return (export_zip(library, held), export_zip(library, held[:1]))


def cases_to_answer() -> list[bytes]:
    """Record and outing pairs without a log or a bank, which name files."""
    needs = [data for data in profiles("outings")() if b"log =" not in data and b"units =" not in data]
    units = [data for data in profiles("batteries")() if b"log =" not in data]
    return [unit + SEAM + need for unit in units for need in needs]


def epws() -> list[bytes]:
    return [epw_year()]


@cache
def epw_year() -> bytes:
    return epw().encode()


@cache
def tmy3_year() -> bytes:
    return tmy3().encode()
