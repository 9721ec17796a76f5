"""check FILE…: is each file valid, and what is missing from it."""

from __future__ import annotations

import argparse
import textwrap
from pathlib import Path

from planner.commands import options
from planner.errors import InputRefused, Problem
from planner.library.find import BATTERY, CLIMATE, OUTING, find_profile, kind_of
from planner.library.place import library_folder

HELP = "is this file valid, and what is missing"
EXAMPLE = "check unit_one trolling_day"
COLUMNS = 80
KINDS = "a battery's record ([[capacity_test]] …), an outing ([[load]]) or a climate (weather or monthly)"
LOGS = (".csv", ".xlsx", ".parquet")


def arguments(parser: argparse.ArgumentParser) -> None:
    """What `check` takes."""
    parser.add_argument(
        "files", metavar="FILE", nargs="+", help="records, outings, climates, or profiles' names"
    )
    options.add_library(parser)


def run(given: argparse.Namespace) -> str:
    """What is to be said of the valid files. Raises PartlyRefused with it when others are refused."""
    said: list[str] = []
    problems: list[Problem] = []
    for typed in given.files:
        try:
            said.append(_checked(find_profile(typed, None, library_folder(given.library))))
        except InputRefused as refusal:
            problems += refusal.problems
    if problems:
        raise PartlyRefused(problems, "".join(said))
    return "".join(said)


class PartlyRefused(InputRefused):
    """Some files are refused; `said` is about those that are not."""

    def __init__(self, problems: list[Problem], said: str) -> None:
        super().__init__(problems)
        self.said = said


def _checked(path: Path) -> str:
    """Valid, and what is missing. Raises InputRefused."""
    from planner.toml_text import parse, read_file

    if path.suffix.lower() in LOGS:
        fix = f"Ask: python -m planner log {path}"
        raise InputRefused([Problem(str(path), "(file)", "a log, not a TOML file", KINDS, fix)])
    kind = kind_of(parse(read_file(path), str(path)))
    if kind == BATTERY:
        return _record(path)
    if kind == OUTING:
        return _outing(path)
    if kind == CLIMATE:
        return _climate(path)
    fix = "Add what makes it one of them."
    raise InputRefused([Problem(str(path), "(file)", "neither battery, outing nor climate", KINDS, fix)])


def _record(path: Path) -> str:
    from planner.record.gaps import missing_tests
    from planner.record.reader import read_record

    record = read_record(path)
    return _said(path, BATTERY, record.name, record.warnings, missing_tests(record))


def _outing(path: Path) -> str:
    from planner.outing.reader import read_outing

    outing = read_outing(path)
    gaps = []
    if outing.wiring is None:
        gaps.append(
            "No cable ([wiring]): its drop and fuse stay open, an inverter is taken at the terminals."
        )
    if outing.reserve_fraction is None and outing.get_home is None:
        gaps.append(
            "No reserve and no way home (reserve or [get_home]): what is kept at the end is not judged."
        )
    gaps += [
        f"Load {load.name!r} is a claim: no verdict rests on it. Measure its current."
        for load in outing.loads
        if load.evidence == "claimed"
    ]
    return _said(path, OUTING, outing.name, outing.warnings, tuple(gaps))


def _climate(path: Path) -> str:
    from planner.winter.reader import read_climate
    from planner.winter.weather_source import load_weather

    climate = read_climate(path)
    weather = load_weather(climate)
    gaps = []
    if climate.use_per_day_c is None and not climate.uses:
        gaps.append("No use a day (use_per_day): taken from the outing in fit, none in winter.")
    if not climate.charges:
        gaps.append("No source of charge ([[charge]]): there is no charging to judge.")
    if climate.conductance_w_per_k is None or climate.heat_capacity_j_per_k is None:
        gaps.append("thermal_conductance or heat_capacity not stated: handbook values are taken.")
    return _said(path, CLIMATE, climate.name, (*climate.warnings, *weather.warnings), tuple(gaps))


def _said(path: Path, kind: str, name: str, warnings: tuple[str, ...], gaps: tuple[str, ...]) -> str:
    lines = _lines(f"{path}: valid {kind}, {name}", "")
    for heading, items in (("Missing:", gaps), ("Warnings:", warnings)):
        if items:
            lines += [f"  {heading}", *(line for item in items for line in _lines(item, "  - "))]
    return "\n".join(lines) + "\n"


def _lines(text: str, first: str) -> list[str]:
    return textwrap.wrap(text, COLUMNS, initial_indent=first, subsequent_indent=" " * max(len(first), 2),
                         break_on_hyphens=False)  # fmt: skip
