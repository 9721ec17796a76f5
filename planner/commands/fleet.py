"""fleet BATTERY BUYERS: one battery against many buyers' outings."""

from __future__ import annotations

import argparse
from pathlib import Path

from planner.commands import options
from planner.commands.inputs import read_all
from planner.commands.progress import Progress

HELP = "one battery against many buyers' outings: how many fit, which do not and why"
EXAMPLE = "fleet unit_one profiles/outings --draws 100"


def arguments(parser: argparse.ArgumentParser) -> None:
    """What `fleet` takes."""
    parser.add_argument("battery", metavar="BATTERY", help="a record, or a profile's name")
    parser.add_argument(
        "buyers", metavar="BUYERS",
        help="a folder of outing files, or a .csv with a column outing (a file's name), perhaps buyer, and one for "
        'each key that is the buyer\'s own, headed as in "load.1.current (A)"',
    )  # fmt: skip
    parser.add_argument("-o", "--output", metavar="FILE", help="a row for each buyer as .csv")
    options.add_climate(parser)
    options.add_draws(parser)
    options.add_json(parser)
    options.add_library(parser)


def run(given: argparse.Namespace) -> str:
    """The count and the causes as text or JSON; the rows to a file where one is named."""
    from planner.verdict.fleet import Fleet, read_buyers, serve

    record, climate, buyers, output = read_all(
        lambda: options.battery(given),
        lambda: options.climate(given),
        lambda: read_buyers(Path(given.buyers)),
        lambda: None if given.output is None else options.output(given.output, (".csv",)),
    )
    progress = Progress(len(buyers))
    served = []
    for one in serve(record, buyers, climate, given.draws, given.seed):
        served.append(one)
        progress.tell(1)
    from planner.explain.fleet_answer import COLUMNS, fleet_json, fleet_row, fleet_text
    from planner.verdict.table_file import CsvFile

    if output is not None:
        with CsvFile(output, COLUMNS) as table:
            for one in served:
                table.write(fleet_row(one))
    found = Fleet(record, tuple(served))
    return options.as_json(fleet_json(found)) if given.json else fleet_text(found)

