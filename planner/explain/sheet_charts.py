"""The charts of a sheet as SVG, made on this computer: no request leaves it."""

from __future__ import annotations

import copy
import re
from dataclasses import dataclass

from planner.explain.chart_look import Figure
from planner.explain.charts import fit_figures
from planner.explain.shown_units import AS_MADE, ShownUnits, figure_in_units
from planner.explain.svg_converter import svg_of
from planner.verdict.assess import Assessment

WIDTH_PX, HEIGHT_PX = 420, 270
LETTERS, LETTER_PX = "Libertinus Serif", 16  # comes with typst; 6.5 points where a chart is printed smallest
LOOK = {
    "font": LETTERS,
    "axis": {"labelFontSize": LETTER_PX, "titleFontSize": LETTER_PX},
    "legend": {"labelFontSize": LETTER_PX, "titleFontSize": LETTER_PX},
    "text": {"fontSize": LETTER_PX},
}
PRINTED = ("charge", "current_map")  # on paper; the HTML sheet holds all


@dataclass(frozen=True, slots=True)
class Picture:
    """One chart as SVG, with its legend and what it shows in words."""

    key: str
    svg: str
    legend: str
    alt: str


def pictures(
    assessment: Assessment, keys: tuple[str, ...] | None = None, shown: ShownUnits = AS_MADE
) -> tuple[Picture, ...]:
    """The answer's charts in the units shown. keys : which; all when None."""
    return tuple(picture(figure_in_units(figure, shown)) for figure in fit_figures(assessment, keys))


def picture(figure: Figure) -> Picture:
    """One chart drawn for paper; every id in it begins with the chart's key, so that several share a page."""
    spec = copy.deepcopy(figure.spec)
    spec["title"]["fontSize"] = LETTER_PX + 1
    spec |= {"width": WIDTH_PX, "height": HEIGHT_PX, "background": "white", "config": LOOK}
    svg = re.sub(r'(\bid="|url\(#|href="#)', rf"\g<1>{figure.key}-", svg_of(spec))
    return Picture(figure.key, svg, figure.legend, figure.alt)
