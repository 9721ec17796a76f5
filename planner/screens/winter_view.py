"""What the page of charging through the year shows of one battery in one place."""

from __future__ import annotations

import json
from dataclasses import dataclass

import pandas as pd

from planner.explain.chart_look import Figure
from planner.explain.mitigation_table import mitigation_sentence, mitigation_table, months_gained_table
from planner.explain.sentences import sentence
from planner.explain.winter_answer import answer_winter, winter_json, winter_text
from planner.explain.winter_calendar import calendar_figure
from planner.explain.winter_care_text import care_sentences
from planner.explain.winter_charts import fortnight_figure, months_figure
from planner.explain.words import span_of
from planner.explain.year_course import year_course
from planner.screens.reading import Inputs
from planner.verdict.assess import DRAWS, SEED
from planner.verdict.winter_check import winter_unit
from planner.winter.weather_source import load_weather


@dataclass(frozen=True, slots=True)
class WinterView:
    """One year of charging, in words, charts and files."""

    verdict: str
    battery: str
    climate: str
    reason: str
    limit: str | None
    settled_by: str | None
    other_years: str | None
    cautions: tuple[str, ...]
    warnings: tuple[str, ...]
    figures: tuple[Figure, ...]
    care: tuple[str, ...]
    finding: str
    changes: pd.DataFrame
    months: pd.DataFrame
    json_text: str
    plain_text: str


def winter_view(inputs: Inputs) -> WinterView:
    """The same answer as the command `winter`, and its charts."""
    (record,), (model,) = inputs.records, inputs.models
    answer = answer_winter(record, inputs.needed_climate(), DRAWS, SEED)
    check, found = answer.check, winter_json(answer)
    weather, unit = load_weather(answer.winter.climate), winter_unit(record, model)
    course = year_course(answer, weather, unit.charge_min_k)
    return WinterView(
        check.verdict,
        record.name,
        answer.climate.name,
        sentence(check.reason),
        None if check.limit is None else sentence(check.limit),
        None if check.settled_by is None else sentence(check.settled_by),
        _other_years(found),
        tuple(found["cautions"]),
        tuple(inputs.restored(text) for text in found["warnings"]),
        (months_figure(course), calendar_figure(course), fortnight_figure(course)),
        tuple(care_sentences(answer.winter.care)),
        mitigation_sentence(answer.changes),
        mitigation_table(answer.changes),
        months_gained_table(answer.changes),
        inputs.restored(json.dumps(found, indent=2, ensure_ascii=False)),
        inputs.restored(winter_text(answer)),
    )


def _other_years(found: dict[str, object]) -> str | None:
    """How far other years may lie from the one given: eight in ten of the drawn ones, both ends of the gate."""
    years = found["years"]
    if not isinstance(years, dict):
        return None
    low, high = years["p10"]["hours_blocked"]["low"], years["p90"]["hours_blocked"]["high"]
    return (
        f"Weather differs from year to year. In eight of ten drawn years like this one, charging is blocked in "
        f"{span_of(low, high, 'hours')}, whichever switching temperature is true."
    )
