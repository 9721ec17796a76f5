"""From a chart's specification to SVG, on this computer: no request leaves it. Imports nothing heavy by itself."""

from __future__ import annotations

import threading
from typing import Any

SCHEMA = "https://vega.github.io/schema/vega-lite/v6.json"  # a name, which nothing here fetches
EMPTY = {"$schema": SCHEMA, "mark": "point", "data": {"values": []}}


def start_converter() -> None:
    """Load the converter on a thread of its own, as it needs none of Python while it loads.

    It takes most of a second, and a picture a few hundredths. The thread is waited for when the program ends.
    """
    threading.Thread(target=svg_of, args=(EMPTY,)).start()


def svg_of(spec: dict[str, Any]) -> str:
    """The SVG of a specification."""
    import vl_convert

    svg: str = vl_convert.vegalite_to_svg(spec)
    return svg
