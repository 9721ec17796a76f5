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
from planner.explain.words import amp_hours, span_of
from planner.explain.year_course import year_course
from planner.screens.reading import Inputs
from planner.verdict.assess import DRAWS, SEED
from planner.verdict.batch import run_batch
from planner.verdict.energy import coverage
from planner.verdict.winter_check import states_use, winter_unit, with_daily_use
from planner.winter.schema import Climate
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
    use: str | None


def winter_view(inputs: Inputs) -> WinterView:
    """The same answer as the command `winter`, and its charts.

    Where the climate states no use, the outing's is taken as in the verdict on top, so that both judge one year.
    """
    (record,), (model,) = inputs.records, inputs.models
    climate, use = _used(inputs)
    answer = answer_winter(record, climate, DRAWS, SEED)
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
        use,
    )


def _used(inputs: Inputs) -> tuple[Climate, str | None]:
    """The climate with a use of each day, and what was taken for it where the climate states none."""
    climate, outing = inputs.needed_climate(), inputs.outing
    if outing is None or states_use(climate):
        return climate, None
    batch = run_batch(inputs.records[0], outing, 1, SEED, inputs.models[0], inputs.units)
    climate = with_daily_use(climate, coverage(batch).need_c, outing.duration_s)
    assert climate.use_per_day_c is not None
    return climate, (
        f"The climate states no use of its own: what the outing takes, {amp_hours(climate.use_per_day_c, 'up')} a day, "
        "is counted on every day, as in the verdict on top."
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
