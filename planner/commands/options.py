"""Arguments that several commands share, and what is accepted in them."""

from __future__ import annotations

import argparse
import json
import math
import os
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.commands.inputs import read_all
from planner.errors import InputRefused, Problem
from planner.library.find import BATTERY, CLIMATE, OUTING, find_profile
from planner.library.place import VARIABLE, library_folder

if TYPE_CHECKING:
    from planner.outing.schema import Outing
    from planner.record.schema import Record
    from planner.winter.schema import Climate

MOST_DRAWS = 100_000  # four arrays of a long outing and this many draws still fit the memory
MOST_POINTS = 1_000_000
LARGEST_SEED = 2**63 - 1


def draws(typed: str) -> int:
    """A number of draws, 1 to 100,000. Raises argparse.ArgumentTypeError."""
    return _whole(typed, 1, MOST_DRAWS)


def seed(typed: str) -> int:
    """A seed, 0 or more. Raises argparse.ArgumentTypeError."""
    return _whole(typed, 0, LARGEST_SEED)


def points(typed: str) -> int:
    """Points of a hypercube, 1 to 1,000,000. Raises argparse.ArgumentTypeError."""
    return _whole(typed, 1, MOST_POINTS)


def share(typed: str) -> float:
    """A share of outings, 0.5 to 0.99. Raises argparse.ArgumentTypeError."""
    try:
        value = float(typed[:20])
    except ValueError:
        value = math.nan
    if not 0.5 <= value <= 0.99:
        raise argparse.ArgumentTypeError(f"{typed[:40]!r}; accepted: a number, 0.5 to 0.99")
    return value


def _whole(typed: str, low: int, high: int) -> int:
    digits = typed.strip()
    if not (digits.isascii() and digits.isdigit() and len(digits) < 20 and low <= int(digits) <= high):
        top = "or more" if high == LARGEST_SEED else f"to {high:,}"
        raise argparse.ArgumentTypeError(f"{typed[:40]!r}; accepted: a whole number, {low} {top}")
    return int(digits)


def add_draws(parser: argparse.ArgumentParser, default: int | None = 500) -> None:
    """--draws and --seed."""
    parser.add_argument(
        "--draws", type=draws, default=default, metavar="N", help="draws of what is uncertain"
    )
    parser.add_argument(
        "--seed", type=seed, default=1, metavar="N", help="the same seed gives the same answer"
    )


def add_case(parser: argparse.ArgumentParser) -> None:
    """BATTERY, OUTING and --climate: what a buyer's case is made of."""
    parser.add_argument("battery", metavar="BATTERY", help="a record, or a profile's name")
    parser.add_argument("outing", metavar="OUTING", help="an outing, or a profile's name")
    add_climate(parser)


def add_question(parser: argparse.ArgumentParser) -> None:
    """All that a question about one case takes."""
    add_case(parser)
    add_draws(parser)
    add_json(parser)
    add_library(parser)


def add_climate(parser: argparse.ArgumentParser) -> None:
    """--climate."""
    parser.add_argument(
        "--climate", metavar="FILE", help="weather, where the battery sits, how it is charged"
    )


def add_json(parser: argparse.ArgumentParser) -> None:
    """--json."""
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def add_currency(parser: argparse.ArgumentParser) -> None:
    """--currency."""
    parser.add_argument(
        "--currency", type=currency, default="", metavar="NAME",
        help="told with the prices of records that state none, such as EUR; JSON stays as it is",
    )  # fmt: skip


def currency(typed: str) -> str:
    """A currency's name or sign; "" for unknown. Raises argparse.ArgumentTypeError."""
    from planner.explain.shown_units import CURRENCY

    if typed.strip() and not CURRENCY.fullmatch(typed.strip()):
        raise argparse.ArgumentTypeError(f"{typed[:40]!r}; accepted: 1 to 8 letters such as EUR, or € £ ¥ $")
    return typed.strip()


def add_library(parser: argparse.ArgumentParser) -> None:
    """--library."""
    parser.add_argument(
        "--library", metavar="FOLDER", help=f"your profiles (else {VARIABLE}, else your data folder)"
    )


def battery(arguments: argparse.Namespace, typed: str | None = None) -> Record:
    """The record of BATTERY. Raises InputRefused."""
    path = find_profile(typed or arguments.battery, BATTERY, _library(arguments))
    from planner.record.reader import read_record

    return read_record(path)


def outing(arguments: argparse.Namespace, typed: str | None = None) -> Outing:
    """The outing of OUTING. Raises InputRefused."""
    path = outing_path(arguments, typed)
    from planner.outing.reader import read_outing

    return read_outing(path)


def outing_path(arguments: argparse.Namespace, typed: str | None = None) -> Path:
    """The file of OUTING. Raises InputRefused."""
    return find_profile(typed or arguments.outing, OUTING, _library(arguments))


def case(arguments: argparse.Namespace) -> tuple[Record, Outing, Climate | None, tuple[Record, ...]]:
    """Record, outing, climate and the records of a bank's units. Raises InputRefused with all problems."""
    record, planned, weather = read_all(
        lambda: battery(arguments), lambda: outing(arguments), lambda: climate(arguments)
    )
    return record, planned, weather, bank_units(planned)


def bank_units(outing: Outing) -> tuple[Record, ...]:
    """The records of a bank's units, where the outing names them. Raises InputRefused."""
    if outing.bank is None or not outing.bank.units:
        return ()
    from planner.record.reader import read_record

    return tuple(read_record(path) for path in outing.bank.units)


def climate(arguments: argparse.Namespace) -> Climate | None:
    """The climate of --climate or CLIMATE, None when there is none. Raises InputRefused."""
    path = climate_path(arguments)
    if path is None:
        return None
    from planner.winter.reader import read_climate

    return read_climate(path)


def climate_path(arguments: argparse.Namespace) -> Path | None:
    """The file of --climate, None when there is none. Raises InputRefused."""
    if arguments.climate is None:
        return None
    return find_profile(arguments.climate, CLIMATE, _library(arguments))


def _library(arguments: argparse.Namespace) -> Path:
    return library_folder(arguments.library)


def output(typed: str, endings: tuple[str, ...]) -> Path:
    """The file to write. Raises InputRefused before anything is worked out."""
    path = Path(typed)
    if path.suffix.lower() not in endings:
        fix = "Name a file that ends in it." if len(endings) == 1 else "Name a file that ends in one of them."
        raise InputRefused([Problem("arguments", "-o", path.suffix or repr(typed), one_of(endings), fix)])
    if path.is_dir():
        fix = "Name a file inside it."
        raise InputRefused([Problem(typed, "(file)", "a folder", "a file", fix)])
    if not path.parent.is_dir():
        fix = "Make the folder first, or name another."
        raise InputRefused(
            [Problem(typed, "(file)", "in a folder that is not there", "an existing folder", fix)]
        )
    if not os.access(path.parent, os.W_OK | os.X_OK):
        fix = "Name a folder you may write to."
        raise InputRefused(
            [Problem(typed, "(file)", "in a closed folder", "a folder that can be written", fix)]
        )
    return path


def one_of(endings: tuple[str, ...]) -> str:
    """Endings as they are listed: ".csv, .json or .txt"."""
    return " or ".join([", ".join(endings[:-1]), endings[-1]]) if len(endings) > 1 else endings[0]


def as_json(answer: Mapping[str, Any]) -> str:
    """One JSON object, finite numbers only, in letters every terminal has."""
    return json.dumps(answer, allow_nan=False, indent=1)
