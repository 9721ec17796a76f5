"""The look all charts share: colours, line breaks, axes of time. Charts have no background of their own.

Every colour stands out from white, cream and near-black paper by 3 : 1 or more (WCAG 2.2, 1.4.11), so that one
chart serves light and dark pages and print. No colour reaches the 4.5 : 1 that text needs on both, so no text is
drawn in a fixed colour: titles, axes and legends take theirs from the page.
"""

from __future__ import annotations

import math
import textwrap
from dataclasses import dataclass

import altair as alt
import pandas as pd

from planner.constants import SECONDS_PER_HOUR, SECONDS_PER_MINUTE

# Okabe and Ito, Color Universal Design (2008): blue, vermilion, bluish green; their orange and reddish purple
# darkened until they reach 3 : 1 on white.
BLUE, VERMILION, GREEN, ORANGE, PURPLE = "#0072B2", "#D55E00", "#009E73", "#B37700", "#B8568F"
GREY = "#7A7F85"
COLOURS = (BLUE, VERMILION, GREEN, ORANGE, PURPLE, GREY)

LINE_CHARACTERS = 44  # of a title in the width a phone leaves (390 px less the page's margins)
LONG_IN_MINUTES_S = 2.0 * SECONDS_PER_HOUR  # shorter outings are told in minutes
ROUND_MINUTES = 5  # durations of 20 minutes and more are told to this many


@dataclass(frozen=True, slots=True)
class Figure:
    """One chart and what stands in for it.

    key : a name for files and tests. title : the finding, one sentence. alt : the chart in words.
    table : the data with units in the heads, for those who cannot or will not read the picture.
    """

    key: str
    title: str
    chart: alt.LayerChart
    alt: str
    table: pd.DataFrame


def wrapped(text: str) -> list[str]:
    """A text in lines short enough for a phone."""
    return textwrap.wrap(text, LINE_CHARACTERS)


def heading(title: str, legend: str) -> alt.TitleParams:
    """The finding, and under it what the marks are; both in short lines, at the left."""
    return alt.TitleParams(
        wrapped(title), subtitle=wrapped(legend), anchor="start", frame="group", fontSize=15, subtitleFontSize=12,
        subtitleFontWeight="normal", offset=12,
    )  # fmt: skip


def duration_text(seconds: float, down: bool = True) -> str:
    """A duration in words: "4 s", "12 min", "5 h 10 min"; whole fives of minutes from 20 min on.

    down : round down, for what protects; else up, for what is needed.
    """
    if not math.isfinite(seconds):
        return "more than 10,000 h"
    if seconds < SECONDS_PER_MINUTE:
        return f"{seconds:.2g} s" if seconds < 10.0 else f"{seconds:.0f} s"
    minutes = seconds / SECONDS_PER_MINUTE
    unit = ROUND_MINUTES if minutes >= 20.0 else 1
    whole = (math.floor(minutes / unit + 1e-9) if down else math.ceil(minutes / unit - 1e-9)) * unit
    hours, rest = divmod(whole, 60)
    return " ".join(part for part in (f"{hours} h" if hours else "", f"{rest} min" if rest else "") if part)


def moment_text(seconds: float) -> str:
    """A moment of the outing, to the minute, or to the second in the first two minutes: "2 h 07 min"."""
    if seconds < 2.0 * SECONDS_PER_MINUTE:
        return f"{seconds:.4g} s"
    hours, minutes = divmod(round(seconds / SECONDS_PER_MINUTE), 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"


def time_unit(duration_s: float) -> tuple[float, str]:
    """Seconds in the unit an outing's axis is told in, and that unit's name."""
    if duration_s < LONG_IN_MINUTES_S:
        return SECONDS_PER_MINUTE, "min"
    return SECONDS_PER_HOUR, "h"
