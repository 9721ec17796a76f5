"""Three charts along one outing: charge left, voltage and current, each a middle line in a band of nine in ten."""

from __future__ import annotations

import altair as alt
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from planner.constants import COULOMB_PER_AH, SECONDS_PER_MINUTE
from planner.explain.chart_look import (
    BLUE,
    GREEN,
    GREY,
    ORANGE,
    PURPLE,
    VERMILION,
    Figure,
    duration_text,
    heading,
    moment_text,
    time_unit,
)
from planner.explain.outing_course import Band, Course

Floats = NDArray[np.float64]

HEIGHT = 190
ENDS = {
    "cutoff": "empty",
    "undervoltage": "empty",
    "empty": "empty",
    "inverter_cutout": "inverter cut out",
    "trip": "switched off",
}


def charge_figure(course: Course) -> Figure:
    """What is left until empty [Ah] over the outing, beside what is to be kept."""
    band, key = _scaled(course.charge_c, 1.0 / COULOMB_PER_AH), "charge"
    left = float(band.middle[-1])
    if course.stops_s is None:
        title = f"At the end of the outing about {np.floor(left):.0f} Ah are left before it runs empty"
    else:
        title = _stopped(course)
    rules = [] if course.reserve_c is None else [(course.reserve_c / COULOMB_PER_AH, "kept in reserve", VERMILION)]
    legend = _legend(course) + (" Dashed: what is to be kept in reserve." if rules else "")
    frame = _frame(course, band)
    chart = _layers(course, frame, "Charge left until empty (Ah)", GREEN, rules, zero=True).properties(
        title=heading(title, legend), height=HEIGHT
    )
    words = f"{title}. It starts with about {band.middle[0]:.0f} Ah. {_ends_at(band, 'Ah', 0)}"
    return Figure(key, title, chart, words, _table(course, band, "Ah"))


def voltage_figure(course: Course) -> Figure:
    """Voltage at the battery [V] over the outing, beside the cut-off."""
    band = course.voltage_v
    lowest = float(np.nanmin(band.middle))
    title = f"Voltage stays above {np.floor(lowest * 10.0 + 1e-9) / 10.0:.1f} V; the outing stops at {course.cutoff_v:.1f} V"
    if course.stops_s is not None and course.ended_by in ("cutoff", "undervoltage", "empty"):
        title = f"Voltage falls to the cut-off after {duration_text(course.stops_s)}"
    rules = [(course.cutoff_v, "cut-off", VERMILION)]
    chart = _layers(course, _frame(course, band), "Voltage at the battery (V)", BLUE, rules, zero=False).properties(
        title=heading(title, _legend(course) + " Dashed: where it is stopped."), height=HEIGHT
    )
    words = f"{title}. In nine runs of ten it is never below {float(np.min(band.low)):.1f} V at any one moment."
    return Figure("voltage", title, chart, words, _table(course, band, "V"))


def current_figure(course: Course) -> Figure:
    """Current at the battery [A] over the outing, and what the rest would draw once it is empty."""
    band = course.current_a
    largest = float(np.nanmax(band.middle, initial=0.0))
    title = f"The outing draws up to {np.ceil(largest - 1e-9):.0f} A"
    wanted = _wanted_frame(course)
    if not wanted.empty:
        title += "; the last part is not served"
    legend = _legend(course) + ("" if wanted.empty else " Dotted: still wanted when it is empty.")
    chart = _layers(course, _frame(course, band), "Current at the battery (A)", PURPLE, [], zero=True)
    if not wanted.empty:
        line = alt.Chart(wanted).mark_line(color=ORANGE, strokeDash=[2, 3], strokeWidth=2)
        chart += line.encode(x=alt.X("t:Q"), y=alt.Y("middle:Q"))
    chart = chart.properties(title=heading(title, legend), height=HEIGHT)
    words = f"{title}. {_ends_at(band, 'A', 0)}"
    return Figure("current", title, chart, words, _table(course, band, "A"))


def _stopped(course: Course) -> str:
    when = duration_text(course.stops_s or 0.0)
    whole = duration_text(course.duration_s, down=False)
    if course.ended_by == "inverter_cutout":
        return f"The inverter cuts out after about {when} of the {whole}"
    if course.ended_by == "trip":
        return f"At this use the tested unit switched off: here after about {when} of the {whole}"
    return f"It runs empty after about {when} of the {whole}"


def _legend(course: Course) -> str:
    text = f"Line: the middle run. Band: nine of {course.draws} runs in ten." if course.draws else "Line: one run."
    if course.stops_s is not None and course.ended_by in ENDS:
        text += f" Upright line: {ENDS[course.ended_by]}."
    if course.ended_by == "trip" or not course.peak_shown:
        text += " All of it only if it does not switch off."
    return text


def _ends_at(band: Band, unit: str, digits: int) -> str:
    return (
        f"At the end nine runs in ten lie between {float(band.low[-1]):.{digits}f} and "
        f"{float(band.high[-1]):.{digits}f} {unit}."
    )


def _scaled(band: Band, factor: float) -> Band:
    return Band(band.middle * factor, band.low * factor, band.high * factor)


def _frame(course: Course, band: Band) -> pd.DataFrame:
    scale, _ = time_unit(course.duration_s)
    digits = 6 if scale > SECONDS_PER_MINUTE else 4  # to 4 ms and 6 ms: a surge keeps its width
    columns = {"t": np.round(course.time_s / scale, digits)}
    columns |= {"middle": band.middle.round(3), "low": band.low.round(3), "high": band.high.round(3)}
    frame = pd.DataFrame(columns)
    frame["when"] = [moment_text(second) for second in course.time_s]
    return frame


def _table(course: Course, band: Band, unit: str) -> pd.DataFrame:
    scale, name = time_unit(course.duration_s)
    return pd.DataFrame(
        {
            f"Time ({name})": (course.time_s / scale).round(4),
            f"Middle ({unit})": band.middle.round(2),
            f"Lower edge ({unit})": band.low.round(2),
            f"Upper edge ({unit})": band.high.round(2),
        }
    ).drop_duplicates(ignore_index=True)


def _wanted_frame(course: Course) -> pd.DataFrame:
    if course.wanted is None:
        return pd.DataFrame()
    scale, _ = time_unit(course.duration_s)
    edges = course.wanted.edges_s / scale
    times = np.stack([edges[:-1], edges[1:]], axis=1).ravel()
    amps = np.stack([course.wanted.start_a, course.wanted.end_a], axis=1).ravel()
    return pd.DataFrame({"t": times.round(6), "middle": amps.round(3)})


def _layers(
    course: Course, frame: pd.DataFrame, y_title: str, colour: str, rules: list[tuple[float, str, str]], zero: bool
) -> alt.LayerChart:
    """Band, middle line, level rules, the moment it stops, and a tooltip wherever the pointer is."""
    scale, unit = time_unit(course.duration_s)
    end = course.duration_s / scale
    x = alt.X("t:Q", title=f"Time from the start ({unit})", scale=alt.Scale(domain=[0.0, end], nice=False),
              axis=alt.Axis(grid=False, tickCount=6))  # fmt: skip
    y_scale = alt.Scale(zero=zero) if zero else alt.Scale(domain=_volts(frame, rules), nice=False, zero=False)
    y = alt.Y("middle:Q", title=None, scale=y_scale, axis=alt.Axis(tickCount=5, minExtent=34))
    base = alt.Chart(frame)
    layers: list[alt.Chart] = [
        base.mark_area(color=colour, opacity=0.28, line=False).encode(x=x, y=alt.Y("low:Q", title=y_title, scale=y_scale), y2="high:Q"),
        base.mark_line(color=colour, strokeWidth=2).encode(x=x, y=y),
    ]
    for level, words, tint in rules:
        mark = alt.Chart(pd.DataFrame({"level": [level], "what": [words]}))
        layers.append(
            mark.mark_rule(color=tint, strokeDash=[6, 4], strokeWidth=1.5).encode(
                y="level:Q", tooltip=[alt.Tooltip("what:N", title="Line"), alt.Tooltip("level:Q", format=".1f")]
            )
        )
    if course.stops_s is not None:
        stop = pd.DataFrame({"t": [course.stops_s / scale], "what": [ENDS.get(course.ended_by, "ends")],
                             "when": [moment_text(course.stops_s)]})  # fmt: skip
        layers.append(
            alt.Chart(stop).mark_rule(color=GREY, strokeWidth=2).encode(
                x="t:Q", tooltip=[alt.Tooltip("what:N", title="End"), alt.Tooltip("when:N", title="After")]
            )
        )
    layers.append(_tooltips(frame, x, y_title))
    return alt.layer(*layers)


def _volts(frame: pd.DataFrame, rules: list[tuple[float, str, str]]) -> list[float]:
    """Axis of a voltage: from a little below the lowest thing shown to a little above the highest."""
    values = np.concatenate([frame["low"], frame["high"], frame["middle"].dropna(), [level for level, _, _ in rules]])
    return [float(np.floor(values.min() * 5.0 - 0.5) / 5.0), float(np.ceil(values.max() * 5.0 + 0.5) / 5.0)]


def _tooltips(frame: pd.DataFrame, x: alt.X, y_title: str) -> alt.Chart:
    """Invisible upright lines that answer the pointer."""
    quantity, unit = y_title.rsplit(" (", 1)
    told = [
        alt.Tooltip("when:N", title="After"),
        alt.Tooltip("middle:Q", title=f"{quantity}, middle ({unit}", format=".1f"),
        alt.Tooltip("low:Q", title="Lower edge of the band", format=".1f"),
        alt.Tooltip("high:Q", title="Upper edge of the band", format=".1f"),
    ]
    return alt.Chart(frame).mark_rule(opacity=0.0, strokeWidth=7).encode(x=x, tooltip=told)
