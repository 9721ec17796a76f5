"""What the page of several batteries shows: the comparison, one limit, the next test."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from planner.explain.across_answer import across_figure, across_json
from planner.explain.bank_or_bigger_answer import ways_json, ways_table
from planner.explain.chart_look import Figure
from planner.explain.compare_answer import compare_json
from planner.explain.compare_chart import compare_figure
from planner.explain.limits_answer import limits_json
from planner.explain.next_test_answer import next_test_json
from planner.screens.reading import Inputs
from planner.verdict.assess import DRAWS, SEED
from planner.verdict.bank_or_bigger import bank_or_bigger
from planner.verdict.compare import compare
from planner.verdict.compare_across import compare_across
from planner.verdict.limits import find_limits
from planner.verdict.next_test import next_tests


@dataclass(frozen=True, slots=True)
class CompareView:
    """One comparison."""

    finding: str
    figure: Figure
    warnings: tuple[str, ...]
    json_text: str


def compare_view(inputs: Inputs) -> CompareView:
    """The same as the command `compare`, and its chart."""
    found = compare(inputs.records, inputs.needed_outing(), inputs.climate, DRAWS, SEED, inputs.units)
    told = compare_json(found)
    figure = compare_figure(found)
    return CompareView(
        f"Best: {told['best']}" if told["best"] else "None of these is shown to fit",
        figure,
        tuple(inputs.restored(text) for text in told["warnings"]),
        inputs.restored(json.dumps(told, indent=2)),
    )


@dataclass(frozen=True, slots=True)
class AcrossView:
    """The batteries over several outings: what comes first, the chart with its table, and all of it as JSON."""

    finding: str
    figure: Figure
    beaten: tuple[str, ...]
    json_text: str


def across_view(inputs: Inputs, others: Sequence[Inputs]) -> AcrossView:
    """The same as the command `compare --also`. others : what was read of the further outings."""
    every = (inputs, *others)
    found = compare_across(
        inputs.records, [one.needed_outing() for one in every], inputs.climate, DRAWS, SEED,
        [one.units for one in every], inputs.models,
    )  # fmt: skip
    figure, best = across_figure(found), found.best
    return AcrossView(
        f"Best for all: {best.name}" if best else "None of these is shown to fit them all",
        figure,
        tuple(
            f"{one.name}: on no outing better, and somewhere worse, than {', '.join(one.dominated_by)}."
            for one in found.batteries
            if one.dominated_by
        ),
        inputs.restored(json.dumps(across_json(found), indent=2)),
    )


@dataclass(frozen=True, slots=True)
class PairsView:
    """Each battery alone and as a pair: the table, the cautions, and all of it as JSON."""

    table: pd.DataFrame
    cautions: tuple[str, ...]
    json_text: str


def pairs_view(inputs: Inputs) -> PairsView:
    """The same as the command `compare --pairs` adds."""
    ways = bank_or_bigger(inputs.records, inputs.needed_outing(), inputs.climate, DRAWS, SEED)
    told = ways_json(ways)
    return PairsView(ways_table(ways), tuple(told["cautions"]), inputs.restored(json.dumps(told, indent=2)))


def limits_view(inputs: Inputs) -> dict[str, Any]:
    """What the command `limits` tells."""
    (record,), (model,) = inputs.records, inputs.models
    return limits_json(
        find_limits(
            record, inputs.needed_outing(), inputs.climate, DRAWS, SEED, fitted=model, units=inputs.units
        )
    )  # fmt: skip


def next_test_view(inputs: Inputs) -> dict[str, Any]:
    """What the command `next-test` tells."""
    return next_test_json(
        next_tests(inputs.records[0], inputs.needed_outing(), inputs.climate, DRAWS, SEED, inputs.units)
    )
