"""sheet BATTERY OUTING -o FILE: the answer as a sheet to hand over."""

from __future__ import annotations

import argparse
import datetime

from planner.commands import options
from planner.commands.inputs import read_all
from planner.library.place import library_folder
from planner.library.tester import LONGEST_TESTER, TESTER_FILE, tester_words

HELP = "the answer as a sheet to hand over"
EXAMPLE = "sheet unit_one trolling_day --units us -o sheet.pdf"
ENDINGS = (".pdf", ".html", ".png", ".csv", ".json", ".txt")
DRAWN = (".pdf", ".html", ".png")  # hold charts


def arguments(parser: argparse.ArgumentParser) -> None:
    """What `sheet` takes."""
    options.add_case(parser)
    parser.add_argument("-o", "--output", metavar="FILE", required=True, help=options.one_of(ENDINGS))
    parser.add_argument(
        "--date",
        type=_date,
        default=None,
        metavar="YYYY-MM-DD",
        help="printed on the sheet; today when absent",
    )
    parser.add_argument(
        "--tester", type=_tester, default=None, metavar="TEXT",
        help=f"your name and terms; else what {TESTER_FILE} in your library says",
    )  # fmt: skip
    parser.add_argument(
        "--units", choices=("metric", "us"), default="metric",
        help="units of its words, tables and charts; its JSON stays as it is",
    )  # fmt: skip
    options.add_draws(parser)
    options.add_library(parser)


def run(given: argparse.Namespace) -> None:
    """Write the sheet: the whole file, or none."""
    path, case, tester = read_all(
        lambda: options.output(given.output, ENDINGS), lambda: options.case(given), lambda: _words(given)
    )
    record, outing, climate, units = case
    from planner.explain.svg_converter import start_converter

    if path.suffix.lower() in DRAWN:
        start_converter()  # it loads beside the imports and the outing's run
    from planner.explain.sheet import sheet_of
    from planner.explain.sheet_files import sheet_bytes
    from planner.explain.shown_units import AS_MADE, US
    from planner.library.atomic_file import write_atomically
    from planner.library.disk_trouble import told_as_refusal
    from planner.verdict.assess import assess

    answer = assess(record, outing, climate, given.draws, given.seed, units=units)
    date = given.date or datetime.date.today()
    shown = US if given.units == "us" else AS_MADE
    data = sheet_bytes(sheet_of(answer, date, tester), answer, path.suffix.lower(), shown)
    with told_as_refusal(path):
        write_atomically(path, data)


def _date(typed: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(typed)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{typed[:40]!r}; accepted: a date such as 2030-01-31") from None


def _tester(typed: str) -> str:
    if len(typed) > LONGEST_TESTER:
        raise argparse.ArgumentTypeError(f"{len(typed)} characters; accepted: at most {LONGEST_TESTER:,}")
    return typed


def _words(given: argparse.Namespace) -> str:
    """What --tester says, else what the library's file says. Raises InputRefused."""
    return given.tester if given.tester is not None else tester_words(library_folder(given.library))
