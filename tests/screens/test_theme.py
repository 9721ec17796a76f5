"""The colours of both looks, by the contrast that WCAG 2.2 asks for (1.4.3 and 1.4.11), computed from the settings.

Contrast and relative luminance: WCAG 2.2, "contrast ratio" and "relative luminance".
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from planner.explain.chart_look import COLOURS

ROOT = Path(__file__).resolve().parent.parent.parent
THEMES = tomllib.loads((ROOT / ".streamlit" / "config.toml").read_text(encoding="utf-8"))["theme"]
FADED = 0.6  # captions and hints are the text at this share, over the paper
PAPERS = ("backgroundColor", "secondaryBackgroundColor")
TEXT, LARGE_OR_SHAPE = 4.5, 3.0  # WCAG 2.2, 1.4.3 and 1.4.11
look = pytest.mark.parametrize("name", ["light", "dark"])


def parts(colour: str) -> list[float]:
    return [int(colour[at : at + 2], 16) / 255.0 for at in (1, 3, 5)]


def luminance(colour: list[float]) -> float:
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: list[float], other: list[float]) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def over(colour: list[float], paper: list[float], share: float) -> list[float]:
    return [share * c + (1.0 - share) * p for c, p in zip(colour, paper, strict=True)]


def test_the_measure_tells_black_on_white_and_the_grey_that_just_passes() -> None:
    assert contrast([0.0] * 3, [1.0] * 3) == pytest.approx(21.0)  # WCAG 2.2: 21 : 1
    assert contrast(parts("#767676"), parts("#FFFFFF")) == pytest.approx(4.54, abs=0.005)  # from memory: a known pair
    assert contrast(parts("#777777"), parts("#FFFFFF")) < TEXT


@look
def test_text_links_and_captions_can_be_read_on_every_paper(name: str) -> None:
    theme = THEMES[name]
    for paper in (parts(theme[key]) for key in PAPERS):
        assert contrast(parts(theme["textColor"]), paper) >= 7.0
        assert contrast(parts(theme["linkColor"]), paper) >= TEXT
        assert contrast(over(parts(theme["textColor"]), paper, FADED), paper) >= TEXT


@look
def test_a_filled_button_can_be_read_and_seen(name: str) -> None:
    theme = THEMES[name]
    primary = parts(theme["primaryColor"])
    assert contrast([1.0] * 3, primary) >= TEXT
    assert contrast(primary, parts(theme["backgroundColor"])) >= LARGE_OR_SHAPE


@look
def test_every_colour_of_the_charts_stands_out_from_the_paper(name: str) -> None:
    paper = parts(THEMES[name]["backgroundColor"])
    assert {colour: contrast(parts(colour), paper) for colour in COLOURS if contrast(parts(colour), paper) < LARGE_OR_SHAPE} == {}
