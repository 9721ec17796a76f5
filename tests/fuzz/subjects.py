"""Every way an input gets in: good inputs to start from, how each is made worse, and what reads it."""

from __future__ import annotations

import json
import random
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from planner.commands.options import draws
from planner.errors import InputRefused
from planner.explain.answer import fit_json
from planner.explain.answer_text import fit_text
from planner.library.archive_zip import KEEP_BOTH, SKIP, import_zip, incoming, open_zip
from planner.library.checking import check_text
from planner.library.file_name import file_key, file_key_with_ending, is_file_key, spoken
from planner.library.find import find_profile
from planner.library.place import DEMO
from planner.library.store import Library
from planner.outing.reader import read_outing
from planner.record.log_summary import summarise_log
from planner.record.reader import read_record
from planner.screens.given import Given, Upload, placed
from planner.screens.plain_text import plain
from planner.units import KINDS, UnitError, to_si
from planner.verdict.assess import assess
from planner.verdict.sweep import plan_sweep
from planner.verdict.table_file import cell_text
from planner.winter.reader import read_climate
from planner.winter.weather_file import read_weather
from planner.winter.weather_source import load_weather
from tests.fuzz import address
from tests.fuzz import mutations as change
from tests.fuzz.goods import (
    CASE,
    RECORDED,
    SEAM,
    cases_to_answer,
    epws,
    log_csv,
    more_logs,
    parquets,
    profiles,
    sheets,
    tmy3_year,
    zips,
)

MOST_TYPED = 1_000_000  # characters


@dataclass(frozen=True, slots=True)
class Subject:
    """good : inputs that are read without complaint. worse : one of them made worse. read : gives an answer or refuses.

    share : how many of a run's inputs are its own, beside the others' shares.
    """

    good: Callable[[], list[bytes]]
    worse: Callable[[random.Random, bytes], bytes]
    read: Callable[[bytes, Path], object]
    share: int


def toml(rng: random.Random, data: bytes) -> bytes:
    deed = rng.choices(
        (change.toml_text, change.quoted_text, change.powers_of_ten, change.one_number, None), (4, 4, 2, 3, 1)
    )[0]
    return change.some_bytes(rng, data) if deed is None else change.of_text(rng, data, deed)


def table(rng: random.Random, data: bytes) -> bytes:
    deed = rng.choices((change.table_text, change.powers_of_ten, None), (6, 1, 2))[0]
    return change.some_bytes(rng, data) if deed is None else change.of_text(rng, data, deed)


def weather_lines(rng: random.Random, data: bytes) -> bytes:
    """Few lines of a year touched: the rest of the file is a year of hours and costs nothing to look at."""
    head, _, tail = data.decode().partition("\n")
    cut = rng.randrange(200, len(tail))
    where = rng.randrange(3)
    if where == 0:
        return change.of_text(rng, head.encode(), change.table_text) + b"\n" + tail.encode()
    if where == 1:
        return (
            head.encode()
            + b"\n"
            + change.of_text(rng, tail[:cut].encode(), change.table_text)
            + tail[cut:].encode()
        )
    return change.some_bytes(rng, data)


def number_of_one_line(rng: random.Random, data: bytes) -> bytes:
    return change.one_number(rng, data.decode()).encode()


TEXTS = (
    *change.NASTY_TEXTS,
    "unit_one",
    "Demo unit one, 100 Ah (invented)",
    "12.5 A",
    "load.1.current=5 A:60 A:5",
    "Log 3.CSV",
)
LOAD_KEYS = (
    "load.1.full_current",
    "load.2.current",
    "duration",
    "ambient",
    "load.1.use.1.speed",
    "start_charge",
    "load",
    "x",
    "",
)


def at(folder: Path, name: str, data: bytes) -> Path:
    path = folder / name
    path.write_bytes(data)
    return path


def battery(data: bytes, folder: Path) -> object:
    return read_record(at(folder, "unit.toml", data))


def outing(data: bytes, folder: Path) -> object:
    return read_outing(at(folder, "outing.toml", data))


def climate(data: bytes, folder: Path) -> object:
    return load_weather(read_climate(at(folder, "climate.toml", data)))


def recorded(data: bytes, folder: Path) -> object:
    at(folder, "run.csv", data)
    return read_outing(at(folder, "outing.toml", RECORDED.replace("LOG", "run.csv").encode()))


def bench_log(ending: str) -> Callable[[bytes, Path], object]:
    def read(data: bytes, folder: Path) -> object:
        summary = summarise_log(at(folder, f"log.{ending}", data))
        json.dumps(summary.to_json(), allow_nan=False)
        return summary.to_text() + summary.to_toml()

    return read


def record_from_log(data: bytes, folder: Path) -> object:
    at(folder, "run.csv", data)
    text = 'format = 1\nname = "Unit (invented)"\n[[capacity_test]]\nlog = "run.csv"\ntemperature = "25 degC"\nended_by = "cutoff"\n'
    return read_record(at(folder, "unit.toml", text.encode()))


def weather(ending: str) -> Callable[[bytes, Path], object]:
    def read(data: bytes, folder: Path) -> object:
        found = read_weather(at(folder, f"year.{ending}", data))
        numbers = [
            found.air_k,
            *((found.sun.ghi_w_m2, found.sun.dni_w_m2, found.sun.dhi_w_m2) if found.sun else ()),
        ]
        assert all(np.isfinite(each).all() for each in numbers)
        assert (
            abs(found.latitude_deg) <= 90.0
            and abs(found.longitude_deg) <= 180.0
            and abs(found.utc_offset_h) <= 14.0
        )
        return found

    return read


def brought_in(data: bytes, folder: Path) -> object:
    library = Library(folder / "library", DEMO)
    with library.writing():
        pass
    try:
        parcel = open_zip(data)
        placed_at = import_zip(library, parcel, {})
        choices = {
            each.target: (KEEP_BOTH, SKIP)[number % 2]
            for number, each in enumerate(incoming(library, parcel))
        }
        import_zip(library, parcel, choices)
    finally:
        outside = [path for path in folder.iterdir() if path.name != "library"]
        assert outside == [], outside
        inside = [path for path in (folder / "library").rglob("*") if path.is_symlink()]
        assert inside == [], inside
    return placed_at


def case(data: bytes, folder: Path) -> object:
    found = check_text("cases", data.decode("utf-8", "replace"), DEMO)
    if found.problems:
        raise InputRefused(found.problems)
    return found


def typed(data: bytes, folder: Path) -> object:
    """What people type and name: quantities, file names, profile names, texts for a page and for a table."""
    text = data.decode("utf-8", "surrogatepass")
    key, with_ending = file_key(text), file_key_with_ending(text)
    assert is_file_key(key) and file_key(key) == key
    assert "/" not in with_ending and "\\" not in with_ending and with_ending[0] != "."
    spoken(text)
    assert "\n" not in plain(text)
    first = cell_text(text)[:1]
    assert first not in ("=", "+", "-", "@", "\t", "\r", "\n"), first
    for kind in KINDS:
        try:
            found = to_si(text, kind)
            assert abs(found) < float("inf")
        except UnitError as error:
            assert error.allowed and error.fix
    if "\0" not in text:
        find_profile(text, None, folder)
    return key


def argument(data: bytes, folder: Path) -> object:
    text = data.decode("utf-8", "replace")
    try:
        draws(text)
    except Exception as error:  # noqa: BLE001  told by its type below
        assert type(error).__name__ == "ArgumentTypeError"
    path = DEMO / "outings" / "trolling_day.toml"
    return plan_sweep(path, [], [text]).rows


def upload(data: bytes, folder: Path) -> object:
    """An upload whose own name, and whose companion's name, is hostile. data : name, then the file."""
    name, _, content = data.partition(b"\n")
    called = name.decode("utf-8", "surrogatepass")
    with placed(
        Given(
            main=Upload(called, content),
            companions=(Upload(called + "x", log_csv()), Upload("run.csv", log_csv())),
        )
    ) as found:
        assert found.named is not None
        assert all(
            path.parent == found.path.parent and path.is_file()
            for path in (found.path, *found.named.values())
        )
        return found.restored(str(read_outing(found.path, found.named)))


def named_upload(rng: random.Random, data: bytes) -> bytes:
    name = "".join(rng.choice(TEXTS) for _ in range(rng.choice((1, 1, 2)))).replace("\n", " ")
    return name.encode("utf-8", "surrogatepass") + b"\n" + (toml(rng, data) if rng.random() < 0.5 else data)


def other_text(rng: random.Random, data: bytes) -> bytes:
    if rng.random() < 0.3:
        letters = rng.choice(
            ("0123456789.eE+- ", "AVWhΩ°CFKdegminsAWG%", "=:.,;'\"<>#$*_", "\u202e\u200b\u0301\ufeff\u2028")
        )
        text = "".join(rng.choice(letters) for _ in range(rng.choice((1, 3, 12, 60))))
        return (rng.choice(TEXTS) + text).encode("utf-8", "surrogatepass")
    made = (
        change.some_bytes(rng, rng.choice(TEXTS).encode("utf-8", "surrogatepass"))
        if rng.random() < 0.5
        else data
    )
    return (made.decode("utf-8", "replace") * rng.choice((1, 1, 1, 2, 50_000 if rng.random() < 0.1 else 3)))[
        :MOST_TYPED
    ].encode()


def vary(rng: random.Random, data: bytes) -> bytes:
    ends = [rng.choice((rng.choice(change.NASTY_TEXTS), "5 A", "60 A", "0.5", "1 h")) for _ in range(2)]
    count = rng.choice(("1", "2", "5", "0", "-1", "1e3", "1000001", "9" * 40, "١", "x", ""))
    made = f"{rng.choice(LOAD_KEYS)}={ends[0]}:{ends[1]}:{count}".encode()
    return change.some_bytes(rng, made) if rng.random() < 0.3 else made


def whole_answer(data: bytes, folder: Path) -> object:
    """A record and an outing, changed but legal, to an answer as JSON and text: finite, or refused."""
    first, second = data.split(SEAM)
    need = read_outing(at(folder, "outing.toml", second))
    found = assess(read_record(at(folder, "unit.toml", first)), need, draws=3)
    json.dumps(fit_json(found), allow_nan=False)
    return fit_text(found)


def one_number_each(rng: random.Random, data: bytes) -> bytes:
    for _ in range(rng.choice((1, 1, 2, 3))):
        data = number_of_one_line(rng, data)
    return data


def mutated_zip(rng: random.Random, data: bytes) -> bytes:
    return change.zip_bytes(rng, data, toml)


def mutated_sheet(rng: random.Random, data: bytes) -> bytes:
    return change.zip_bytes(
        rng,
        data,
        lambda rng, inner: change.some_bytes(rng, inner) if rng.random() < 0.5 else table(rng, inner),
    )


SUBJECTS: dict[str, Subject] = {
    "battery record": Subject(profiles("batteries"), toml, battery, 20),
    "outing": Subject(profiles("outings"), toml, outing, 20),
    "climate": Subject(profiles("climates"), toml, climate, 12),
    "case": Subject(lambda: [CASE], toml, case, 4),
    "bench log, text": Subject(more_logs, table, bench_log("csv"), 14),
    "bench log, sheet": Subject(lambda: list(sheets()), mutated_sheet, bench_log("xlsx"), 3),
    "bench log, Parquet": Subject(lambda: list(parquets()), change.some_bytes, bench_log("parquet"), 4),
    "recorded load": Subject(more_logs, table, recorded, 5),
    "capacity test from a log": Subject(more_logs, table, record_from_log, 5),
    "EPW": Subject(epws, weather_lines, weather("epw"), 1),
    "TMY3": Subject(lambda: [tmy3_year()], weather_lines, weather("csv"), 1),
    "zip": Subject(lambda: list(zips()), mutated_zip, brought_in, 4),
    "typed texts": Subject(
        lambda: [text.encode("utf-8", "surrogatepass") for text in TEXTS], other_text, typed, 8
    ),
    "--vary": Subject(lambda: [b"load.2.current=1 A:2 A:3"], vary, argument, 6),
    "upload": Subject(profiles("outings"), named_upload, upload, 5),
    "page address": Subject(address.good, address.worse, address.opened, 2),
    "whole answer": Subject(cases_to_answer, one_number_each, whole_answer, 3),
}


@contextmanager
def scratch_folder() -> Iterator[Path]:
    folder = Path(tempfile.mkdtemp(prefix="fuzz-"))
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)
