"""Programs killed at random moments while they save, bring in or sweep; and what must then still be there."""

from __future__ import annotations

import contextlib
import io
import math
import os
import random
import signal
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TextIO

from planner.cli import main as command_line
from planner.library.archive_zip import import_zip
from planner.library.parcel import Parcel
from planner.library.store import Library
from tests.fuzz.goods import RECORDED, log_csv
from tests.library.saving_loop import is_whole, sealed
from tests.library.saving_loop import main as saving_loop

MORE_KILLS = 10
ROWS, DRAWS = 40, 400  # five blocks of a sweep, each written when it is done
SWEEP = (
    *("sweep", "kayak_evening", "unit_one", "--vary", f"ambient=5 degC:15 degC:{ROWS}"),
    *("--draws", str(DRAWS)),
)


@dataclass(frozen=True, slots=True)
class Work:
    """What a program does until it is killed, and how what it left is checked.

    do : in a folder, telling each finished piece on a pipe. check : with the pieces told, returns how many
    were there. longest_s : to the kill; as long as the work takes where NaN.
    """

    do: Callable[[Path, TextIO], None]
    check: Callable[[Path, list[str]], int]
    longest_s: float


def killed(work: Work, folder: Path, after_s: float) -> list[str]:
    """Do the work in a child, kill it after that time, and return what it told. Only the child is killed."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(reading)
            with os.fdopen(writing, "w") as told:
                work.do(folder, told)
        finally:
            os._exit(0)
    os.close(writing)
    time.sleep(after_s)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with os.fdopen(reading) as pipe:
        text = pipe.read()
    return text.splitlines() if text.endswith("\n") else text.splitlines()[:-1]


def save(folder: Path, told: TextIO) -> None:
    saving_loop(folder / "library", "killed", 1_000_000, told)


def saved(folder: Path, told: list[str]) -> int:
    """Every version told is there; the text is whole and is that of the newest version or one further."""
    library = Library(folder / "library", folder / "demo")
    kept = {str(version.number): version.sha256 for version in library.versions("cases", "boat")}
    for line in told:
        number, sha256 = line.split()
        assert kept[number] == sha256
    if not told and not library.list_profiles("cases"):
        return 0
    text, version = library.load("cases", "boat")
    assert is_whole(text)
    assert version.number - (int(told[-1].split()[0]) if told else version.number) in {0, 1}
    after = library.save("cases", "boat", sealed("after", version.number), version)
    assert after.number == version.number + 1
    return len(told)


@cache
def parcel(number: int) -> Parcel:
    """A case, the outing it joins and the log that names; two files more to be half there."""
    log = f"run-{number}.csv"
    files = {
        f"cases/boat-{number}.toml": f'format = 1\nname = "Boat {number}"\nouting = "day-{number}"\n'.encode(),
        f"logs/{log}": log_csv() + f"# {number}\n".encode(),
        f"outings/day-{number}.toml": RECORDED.replace("LOG", f"../logs/{log}")
        .replace("Morning", f"Day {number}")
        .encode(),
    }
    return Parcel(files)


def bring_in(folder: Path, told: TextIO) -> None:
    library = Library(folder / "library", folder / "demo")
    number = len(library.list_profiles("cases")) if (folder / "library").is_dir() else 0
    while True:
        number += 1
        import_zip(library, parcel(number), {})
        print(number, file=told, flush=True)


def brought_in(folder: Path, told: list[str]) -> int:
    """Of each parcel all files are there or none; of those told, all, byte for byte."""
    library = Library(folder / "library", folder / "demo")
    with library.writing():  # whoever writes next finishes or sweeps up
        pass
    there = {entry.key for entry in library.list_profiles("cases")}
    numbers = [int(key.removeprefix("boat-")) for key in there]
    assert sorted(numbers) == list(range(1, len(numbers) + 1))
    assert all(int(line) in numbers for line in told)
    for number in numbers:
        for target, data in parcel(number).files.items():
            assert (library.folder / target).read_bytes() == data
    files = [path for kind in ("cases", "outings", "logs") for path in (library.folder / kind).glob("*")]
    assert len(files) == 3 * len(numbers)
    assert list(library.folder.rglob(".new-*")) == []
    return len(told)


def sweep(folder: Path, told: TextIO) -> None:
    command_line([*SWEEP, "-o", str(folder / "table.csv")])


@cache
def whole_table() -> list[str]:
    shown = io.StringIO()
    with contextlib.redirect_stdout(shown):
        assert command_line(SWEEP) == 0
    return shown.getvalue().splitlines(keepends=True)


def swept(folder: Path, told: list[str]) -> int:
    """The table is the beginning of the whole one, every row of it whole."""
    path = folder / "table.csv"
    if not path.exists():
        return 0
    found = path.read_text(encoding="utf-8").splitlines(keepends=True)
    assert found == whole_table()[: len(found)]
    path.unlink()
    return max(0, len(found) - 1)


WORKS = {
    "save": Work(save, saved, 0.5),
    "import": Work(bring_in, brought_in, 0.5),
    "sweep": Work(sweep, swept, math.nan),
}


def kill_often(name: str, kills: int, seed: int, folder: Path) -> int:
    """Kill a work that many times, checking after each; returns how many pieces were found finished in all."""
    work, moments, told = WORKS[name], random.Random(f"{seed} {name}"), 0
    (folder / "demo").mkdir()
    longest_s = work.longest_s
    if math.isnan(longest_s):  # loads what is loaded late, and tells how long this machine takes
        whole_table()
        began = time.monotonic()
        work.do(folder, sys.stdout)
        longest_s = 1.1 * (time.monotonic() - began)
        assert work.check(folder, []) == ROWS
    done = 0
    while done < kills or (told == 0 and done < kills + MORE_KILLS):
        if (
            done >= kills
        ):  # this machine has become slower since it was timed: none came after the first piece
            longest_s *= 1.5
        lines = killed(work, folder, moments.uniform(0.0, longest_s))
        told += work.check(folder, lines)
        done += 1
    return told


def main(words: list[str]) -> int:
    """python -m tests.faults.killing [KILLS [SEED]]: 200 kills unless stated, shared by the three."""
    kills, seed = int(words[0]) if words else 200, int(words[1]) if len(words) > 1 else 1
    for name in WORKS:
        with tempfile.TemporaryDirectory() as scratch:
            began = time.monotonic()
            told = kill_often(name, -(-kills // len(WORKS)), seed, Path(scratch))
            print(
                f"{name}: {-(-kills // len(WORKS))} kills, {told} pieces finished before them, nothing lost, {time.monotonic() - began:.0f} s",
                flush=True,
            )
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
