"""Every chart of every page has words and a table in its place, and can be taken along as SVG and PNG."""

from __future__ import annotations

import itertools
import re
import struct
from functools import cache
from xml.etree import ElementTree

import pytest

from planner.explain.chain_table import branch_figure
from planner.explain.chart_files import HEIGHT_PX, PNG_SCALE, WIDTH_PX, chart_png, chart_svg
from planner.explain.chart_look import Figure, wrapped
from planner.explain.charts import fit_figures
from planner.explain.compare_chart import compare_figure
from planner.explain.log_chart import log_figure
from planner.explain.residual_chart import residual_figure
from planner.explain.runtime_chart import runtime_figure
from planner.explain.sensitivity_chart import sensitivity_figure
from planner.explain.winter_answer import answer_winter
from planner.explain.winter_calendar import calendar_figure
from planner.explain.winter_charts import fortnight_figure, months_figure
from planner.explain.year_course import year_course
from planner.record.log_summary import summarise_log
from planner.verdict.audit import audit
from planner.verdict.compare import compare
from planner.verdict.sensitivity import find_sensitivity
from planner.verdict.winter_check import winter_unit
from planner.winter.weather_source import load_weather
from tests.explain.demo import PROFILES, assessed

KEYS = ("charge", "voltage", "current", "current_map", "months", "calendar", "fortnight", "comparison", "sensitivity",
        "branches", "log", "residual", "runtime")  # fmt: skip

COUNTS = (
    "Month", "Day of the fortnight", "Price", "Price per measured Wh", "Price per Wh this outing gets",
    "Outlasts the first", "Runs",
)  # fmt: skip
# the currency stands in a column of its own


@cache
def figures() -> dict[str, Figure]:
    """One of each chart that a page shows."""
    fit, bank = assessed("unit_one", "trolling_day", "cold-lake"), assessed("unit_one", "bank_motor")
    record, outing, climate = fit.record, fit.outing, fit.climate
    assert climate is not None
    winter = answer_winter(record, climate, 4, 1)
    course = year_course(winter, load_weather(climate), winter_unit(record, fit.fitted).charge_min_k)
    branches = branch_figure(bank)
    assert branches is not None
    made = (
        *fit_figures(fit), months_figure(course), calendar_figure(course), fortnight_figure(course),
        compare_figure(compare((record, assessed("unit_two", "trolling_day").record), outing, None, 8, 1)),
        sensitivity_figure(find_sensitivity(record, outing, None, 8, 1, fit.fitted)),
        branches,
        log_figure(summarise_log(PROFILES / "logs" / "bench_unit_one_invented.csv")),
        residual_figure(audit(record, fit.fitted).residuals[0]),
        runtime_figure(fit),
    )  # fmt: skip
    return dict(zip(KEYS, made, strict=True))


@pytest.mark.parametrize("key", KEYS)
def test_every_chart_has_its_finding_words_and_a_table_with_units(key: str) -> None:
    figure = figures()[key]
    assert figure.title[-1] not in ":;" and len(figure.title.split()) >= 4
    assert len(figure.alt.split()) >= 8 and figure.legend
    assert len(figure.table) >= 1
    numbers = figure.table.select_dtypes("number")
    assert numbers.shape[1] >= 1
    for head in numbers.columns:  # a unit stands in the head, or the head counts something
        assert re.search(r"\(.+\)", str(head)) or head in COUNTS, head


@pytest.mark.parametrize("key", KEYS)
def test_every_chart_can_be_taken_along_as_a_picture_that_holds_its_finding(key: str) -> None:
    figure = figures()[key]
    before = repr(figure.spec)
    svg = ElementTree.fromstring(chart_svg(figure))
    assert svg.tag.endswith("svg")
    told = " ".join("".join(part.itertext()) for part in svg.iter() if part.tag.endswith("text"))
    for line in wrapped(figure.title):
        assert line.replace("\u00a0", " ") in told.replace("\u00a0", " ")
    assert not [part for part in svg.iter() if part.tag.endswith(("script", "foreignObject"))]
    png = chart_png(figure)
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    assert struct.unpack(">II", png[16:24]) == (WIDTH_PX * PNG_SCALE, HEIGHT_PX * PNG_SCALE)
    assert repr(figure.spec) == before


LETTER_PX, SYMBOL_PX = 6.5, 26  # of a legend's entry on the page (measured)
# a chart's width on a phone of 360 px, and what its vertical axis takes (measured)
PHONE_PX, AXIS_PX = 326, 65


def legends(figure: Figure) -> list[tuple[int, list[str]]]:
    """Columns and entries of each legend, all that its scale knows."""
    found, spec = [], figure.spec
    for layer in spec["layer"]:
        rows = spec["datasets"][layer["data"]["name"]]
        for channel in layer["encoding"].values():
            if isinstance(channel, dict) and channel.get("legend"):
                seen = list(dict.fromkeys(row[channel["field"]] for row in rows))
                known = channel.get("scale", {}).get("domain") or seen
                found.append((channel["legend"]["columns"], known))
    return found


@pytest.mark.parametrize("key", KEYS)
def test_no_legend_is_wider_than_a_phone_whichever_of_its_entries_are_met(key: str) -> None:
    for count, known in legends(figures()[key]):
        for many in range(1, len(known) + 1):
            for met in itertools.combinations(known, many):
                columns = [met[first::count] for first in range(min(count, many))]
                wide = sum(LETTER_PX * max(map(len, column)) + SYMBOL_PX for column in columns)
                assert wide <= PHONE_PX - AXIS_PX, met
