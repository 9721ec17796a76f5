"""The look all charts share: colours, line breaks, axes of time. Charts have no background of their own.

Every colour stands out from white, cream and near-black paper by 3 : 1 or more (WCAG 2.2, 1.4.11), so that one
chart serves light and dark pages and print. No colour reaches the 4.5 : 1 that text needs on both, so no text is
drawn in a fixed colour: titles, axes and legends take theirs from the page.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np

from planner.constants import SECONDS_PER_HOUR, SECONDS_PER_MINUTE
from planner.explain.svg_converter import SCHEMA

if TYPE_CHECKING:
    import altair
    import pandas as pd

# Okabe and Ito, Color Universal Design (2008): blue, vermilion, bluish green; their orange and reddish purple
# darkened until they reach 3 : 1 on white.
BLUE, VERMILION, GREEN, ORANGE, PURPLE = "#0072B2", "#D55E00", "#009E73", "#B37700", "#B8568F"
GREY = "#7A7F85"
COLOURS = (BLUE, VERMILION, GREEN, ORANGE, PURPLE, GREY)

TITLE_PX, TITLE_LINE_PX = 15, 19
LINE_CHARACTERS = 38  # of a title in the width a phone of 360 px leaves inside a folded part
LONG_IN_MINUTES_S = 2.0 * SECONDS_PER_HOUR  # shorter outings are told in minutes


Spec = dict[str, Any]
# Columns of equal length by name, plain or of a frame. A frame of a chart's few hundred rows costs more than all else
# of the chart, and pandas a third of a second to import (measured), so that the charts of the first page have none.
Columns: TypeAlias = "Mapping[str, Any] | pd.DataFrame"
Data: TypeAlias = "Mapping[str, Columns | list[Spec]]"  # what all layers draw, by name


@dataclass(frozen=True, slots=True)
class Figure:
    """One chart and what stands in for it.

    key : a name for files and tests. title : the finding, one sentence. legend : what the marks are, to stand under
    the chart. alt : the chart in words.
    numbers : the data with units in the heads, for those who cannot or will not read the picture.
    made : the whole chart as a Vega-Lite specification but for its data, which stay columns where they were. It is
    written down directly, as building the same of altair's objects took a third of a second for one answer (measured).
    """

    key: str
    title: str
    legend: str
    alt: str
    numbers: Columns
    made: Spec

    @property
    def spec(self) -> Spec:
        """The specification with its data in rows, as Vega-Lite reads them."""
        named = self.made["datasets"].items()
        return self.made | {"datasets": {name: rows(data) for name, data in named}}

    @property
    def table(self) -> pd.DataFrame:
        """The numbers as a table."""
        import pandas as pd

        return pd.DataFrame(self.numbers)

    @property
    def chart(self) -> altair.LayerChart:
        """The chart as altair's own object, checked against altair's schema."""
        import altair

        return altair.LayerChart.from_dict(self.spec)


def field(name: str, title: str | None = None, kind: str = "quantitative", **more: Any) -> Spec:
    """One encoding channel; an axis or tooltip entry without title shows none."""
    return {"field": name, "type": kind, "title": title, **more}


def told(name: str, title: str, number: str | None = None) -> Spec:
    """One line of a tooltip. number : a number's format; None for words."""
    more = {} if number is None else {"format": number}
    return field(name, title, "nominal" if number is None else "quantitative", **more)


def layer(data: str, mark: str, look: Spec, **encoding: Any) -> Spec:
    """One layer on the data of that name. look : the mark's properties.

    To a screen reader the picture is one thing with one text alternative; its marks have no words and stay silent.
    """
    return {"data": {"name": data}, "mark": {"type": mark, "aria": False, **look}, "encoding": encoding}


def whole(title: str, height: int, layers: list[Spec], data: Data) -> Spec:
    """Layers and their data under the finding, in lines short enough for a phone.

    height : of the whole picture without its title [px]; each line of the title is added.
    """
    lines = wrapped(title)
    head = {"text": lines, "anchor": "start", "frame": "bounds", "fontSize": TITLE_PX, "lineHeight": TITLE_LINE_PX,
            "offset": 12}  # fmt: skip
    return {
        "$schema": SCHEMA, "title": head, "width": "container", "height": height + len(lines) * TITLE_LINE_PX + 12,
        "autosize": {"type": "fit", "contains": "padding"}, "background": "transparent", "layer": layers,
        "datasets": dict(data),
    }  # fmt: skip


def rows(data: Columns | list[Spec]) -> list[Spec]:
    """The rows for a specification; what is not a number becomes null."""
    if isinstance(data, list):
        return data
    values = [_plain(column) for _, column in data.items()]
    names = list(data.keys())
    return [dict(zip(names, row, strict=True)) for row in zip(*values, strict=True)]


def _plain(column: Any) -> list[Any]:
    """A column as Python's own objects: iterating over pandas' text columns takes ten times as long (measured)."""
    values = column if isinstance(column, list) else np.asarray(column).tolist()
    return [None if value != value else value for value in values]


def wrapped(text: str) -> list[str]:
    """A text in lines short enough for a phone."""
    kept = re.sub(r"(?<=\d) (?=[a-zA-Z])", "\u00a0", text)  # a number stays with its unit
    return textwrap.wrap(kept, LINE_CHARACTERS, break_on_hyphens=False)


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
