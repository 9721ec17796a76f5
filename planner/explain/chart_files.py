"""A chart as a file to take along: SVG or PNG on white paper, drawn on this computer."""

from __future__ import annotations

import copy

from planner.explain.chart_look import Figure, Spec
from planner.explain.svg_converter import svg_of

WIDTH_PX, HEIGHT_PX = 800, 440
PNG_SCALE = 2.0  # sharp on paper and on screens of twice the usual resolution
LOOK = {"font": "sans-serif"}  # letters of the machine that shows it


def chart_svg(figure: Figure) -> bytes:
    """The chart as SVG, its finding as the title."""
    return svg_of(_on_paper(figure)).encode()


def chart_png(figure: Figure) -> bytes:
    """The chart as PNG, its finding as the title."""
    import vl_convert

    png: bytes = vl_convert.vegalite_to_png(_on_paper(figure), scale=PNG_SCALE)
    return png


def _on_paper(figure: Figure) -> Spec:
    size = {"width": WIDTH_PX, "height": HEIGHT_PX, "background": "white", "config": LOOK}
    return copy.deepcopy(figure.spec) | size
