"""What the page of many answers shows: the answer over ranges of numbers, and one battery for many buyers."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory

import pandas as pd

from planner.errors import InputRefused, Problem
from planner.explain.fleet_answer import COLUMNS, fleet_json, fleet_row
from planner.explain.next_test_sentences import CHECK_NAMES
from planner.explain.outing_charts import ENDS
from planner.explain.words import counted, hours_at_least
from planner.record.reader import read_record
from planner.screens.answering import Asked
from planner.screens.given import Given, Placed, Upload, placed, with_names_restored
from planner.screens.ranges import PLACE, Range
from planner.screens.reading import Inputs, Refused
from planner.verdict.assess import DRAWS, SEED
from planner.verdict.fleet import Buyer, Fleet, buyers_of, read_buyers, serve
from planner.verdict.sweep import Row, plan_sweep, run_blocks
from planner.verdict.sweep_row import Sweep
from planner.verdict.table_file import csv_line

MOST_ROWS = 2000  # a page waits for its answer: more rows are for the command
BLOCK = 50  # rows between two steps of the bar
# heads of a sweep's columns, in words
HEADS = {
    "verdict": "Verdict",
    "nominal_h": "Middle (h)",
    "p10_h": "At least, in nine of ten (h)",
    "p90_h": "At most, in nine of ten (h)",
    "charge_used_Ah": "Charge used (Ah)",
    "min_voltage_V": "Lowest voltage (V)",
    "ended_by": "Ended by",
    "refused": "Why not answered",
}
Tell = Callable[[int, int], object]  # done, of how many


@dataclass(frozen=True, slots=True)
class ManyView:
    """Many answers: what they come to, the table, and the files to take along."""

    finding: str
    reasons: tuple[str, ...]
    table: pd.DataFrame
    csv_text: str
    json_text: str | None = None


def sweep_view(asked: Asked, ranges: Sequence[Range], points: int | None, tell: Tell) -> ManyView | Refused:
    """The same rows as the command `sweep`, for at most MOST_ROWS of them."""
    with ExitStack() as folders:
        shown: dict[str, str] = {}
        try:
            battery, outing, climate = (
                None if given is None else _on_disk(folders, given, shown)
                for given in (asked.battery, asked.outing, asked.climate)
            )
            assert battery is not None and outing is not None
            varied = [each.text for each in ranges]
            sweep = plan_sweep(outing, [read_record(battery)], varied, climate=climate, points=points)
            if sweep.rows > MOST_ROWS:
                fix = "Take fewer values, or use the command sweep, which has no such limit."
                raise InputRefused(
                    [Problem(PLACE, "rows", f"{sweep.rows:,}", f"at most {MOST_ROWS:,} on this page", fix)]
                )
            rows = []
            for block in run_blocks(sweep, block=BLOCK):
                rows += block
                tell(len(rows), sweep.rows)
        except InputRefused as refused:
            told = with_names_restored(refused, lambda text: _restored(text, shown))
            return Refused(tuple(_on_the_page(problem, ranges) for problem in told))
    columns = sweep.columns()
    verdicts = [row[columns.index("verdict")] for row in rows]
    good, none = (sum(str(verdict or "").startswith(word) if word else not verdict for verdict in verdicts)
                  for word in ("fits", ""))  # fmt: skip
    finding = f"It fits in {good:,} of {counted(len(rows), 'rows')}"
    return ManyView(
        f"{finding}; {none:,} could not be answered" if none else finding, (), _sweep_table(sweep, rows, ranges, shown),
        "".join(csv_line(row) for row in (columns, *rows)),
    )  # fmt: skip


def _sweep_table(
    sweep: Sweep, rows: Sequence[Row], ranges: Sequence[Range], shown: Mapping[str, str]
) -> pd.DataFrame:
    """The rows under heads in words; left out is what is empty throughout, and the battery, of which there is one."""
    units = [f" ({vary.unit})" if vary.unit != "1" else "" for vary in sweep.varied]
    heads = {
        vary.heading: each.of.label + unit.replace("degC", "°C").replace("degF", "°F")
        for vary, each, unit in zip(sweep.varied, ranges, units, strict=True)
    }
    table = pd.DataFrame(rows, columns=list(sweep.columns()))
    table["p10_h"] = [None if hours is None else hours_at_least(float(hours)) for hours in table["p10_h"]]
    ended = table["ended_by"]
    table["ended_by"] = [None if each is None else ENDS.get(str(each), "the outing’s own end") for each in ended]
    table["refused"] = [_restored(str(text), shown) if text else None for text in table["refused"]]
    table = table.round({"nominal_h": 1, "p90_h": 1, "charge_used_Ah": 1, "min_voltage_V": 2})
    told = table.drop(columns="battery").rename(columns=heads | HEADS | CHECK_NAMES)
    return told.dropna(axis="columns", how="all")


def fleet_view(inputs: Inputs, outings: Mapping[str, Path], chosen: Sequence[str], table: Upload | None,
               tell: Tell, labels: Mapping[str, str]) -> ManyView | Refused:  # fmt: skip
    """The same answers as the command `fleet`.

    labels : what the outings are called, by key; a buyer without a name of its own is called after one.
    outings : files that a buyer may name, by key. chosen : keys of those to answer. table : a buyers' file, in place
    of those that were chosen.
    """
    shown = {str(path): f"{key}.toml" for key, path in outings.items()}
    try:
        buyers = (
            buyers_of({key: outings[key] for key in chosen}) if table is None else _buyers(table, outings)
        )
        served = []
        for one in serve(inputs.records[0], buyers, inputs.climate, DRAWS, SEED):
            served.append(one)
            tell(len(served), len(buyers))
    except InputRefused as refused:
        return Refused(with_names_restored(refused, lambda text: _restored(text, shown)))
    found = Fleet(inputs.records[0], tuple(served))
    told = fleet_json(found)
    causes = [f"{one['verdict']}, for {CHECK_NAMES[one['check']]}: {one['buyers']}" for one in told["causes"]]
    rows = [fleet_row(one) for one in served]
    finding = f"It fits {found.fitting} of {counted(len(served), 'buyers')}"
    return ManyView(
        finding, tuple(causes), _fleet_table(told["rows"], shown, labels),
        "".join(csv_line(row) for row in (COLUMNS, *rows)), json.dumps(told, indent=2),
    )  # fmt: skip


def _fleet_table(
    rows: list[dict[str, str | float | None]], shown: Mapping[str, str], labels: Mapping[str, str]
) -> pd.DataFrame:
    def numbers(key: str) -> list[float | None]:
        return [None if row[key] is None else float(row[key] or 0.0) for row in rows]

    def hours(key: str) -> list[float | None]:
        return [None if one is None else round(one, 1) for one in numbers(key)]

    def called(name: str | float | None) -> str:
        return labels.get(str(name).removesuffix(".toml"), str(name))

    return pd.DataFrame(
        {
            "Buyer": [called(row["buyer"]) for row in rows],
            "Outing": [called(row["outing"]) for row in rows],
            "Verdict": [row["verdict"] or "outing refused" for row in rows],
            "Needed (h)": hours("needed_h"),
            "At least, in nine of ten (h)": [hours_at_least(one) for one in numbers("p10_h")],
            "Middle (h)": hours("nominal_h"),
            "Why": [_restored(str(row["why"] or row["refused"] or ""), shown) for row in rows],
        }
    )


def _buyers(table: Upload, outings: Mapping[str, Path]) -> tuple[Buyer, ...]:
    """The buyers of an uploaded table; a row names an outing by its key, with or without its ending."""
    named = {name: path for key, path in outings.items() for name in (key, f"{key}.toml")}
    with TemporaryDirectory(prefix="upload-") as folder:
        path = Path(folder) / "buyers-upload.csv"
        path.write_bytes(table.data)
        try:
            return read_buyers(path, named)
        except InputRefused as refused:
            shown = {str(path): table.name, path.name: table.name}
            raise InputRefused(with_names_restored(refused, lambda text: _restored(text, shown))) from refused


def _on_disk(folders: ExitStack, given: Given, shown: dict[str, str]) -> Path:
    """Where the rows are read from. Raises InputRefused for a draft, which is no file yet."""
    place: Placed = folders.enter_context(placed(given))
    shown.update(place.shown)
    if place.text is not None:
        name = given.main.name if given.main is not None else "draft"
        raise InputRefused(
            [Problem(name, "(file)", "not saved yet", "a saved file", "Save it in the library first.")]
        )
    return place.path


def _restored(text: str, shown: Mapping[str, str]) -> str:
    for ours, theirs in shown.items():
        text = text.replace(ours, theirs)
    return text


def _on_the_page(problem: Problem, ranges: Sequence[Range]) -> Problem:
    """A problem of the ranges by the place where they are typed: the command's arguments are not seen here."""
    if problem.file != "arguments":
        return problem
    key = problem.key.removeprefix("--vary ")
    label = next((each.of.label for each in ranges if each.of.key == key), key.replace("--vary", "ranges"))
    return replace(problem, file=PLACE, key=label)
