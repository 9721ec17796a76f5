"""Three charts along one outing: charge left, voltage and current, each a middle line in a band of nine in ten."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.constants import COULOMB_PER_AH, SECONDS_PER_MINUTE
from planner.explain.answer_text import STOPPED
from planner.explain.chart_look import (
    BLUE,
    GREEN,
    GREY,
    ORANGE,
    PURPLE,
    VERMILION,
    Columns,
    Figure,
    Spec,
    field,
    layer,
    moment_text,
    time_unit,
    told,
    whole,
)
from planner.explain.outing_course import Band, Course
from planner.explain.words import about_time, amp_hours, amps, volts

Floats = NDArray[np.float64]

HEIGHT = 230
POINTER_STOPS = 100  # moments that answer the pointer; each costs the browser a mark to draw
EMPTY = ("cutoff", STOPPED, "undervoltage", "empty")
ENDS = {
    "cutoff": "empty",
    STOPPED: "the voltage you stop at",
    "undervoltage": "empty",
    "empty": "empty",
    "unserved": "power not served",
    "inverter_cutout": "inverter cut out",
    "trip": "switched off",
}


def charge_figure(course: Course) -> Figure:
    """What is left until empty [Ah] over the outing, beside what is to be kept."""
    band = _scaled(course.charge_c, 1.0 / COULOMB_PER_AH)
    title = _stopped(course)
    if course.stops_s is None:
        left = amp_hours(max(float(course.charge_c.middle[-1]), 0.0), "down")
        title = f"At the end of the outing about {left} are left before it stops"
    kept = [] if course.reserve_c is None else [(course.reserve_c / COULOMB_PER_AH, "kept in reserve")]
    legend = _legend(course) + (" Dashed: what is to be kept in reserve." if kept else "")
    layers, data = _layers(course, band, "Charge left (Ah)", GREEN, kept)
    words = f"{title}. It starts with about {band.middle[0]:.0f} Ah. {_ends_at(band, 'Ah')}"
    spec = whole(title, HEIGHT, layers, data)
    return Figure("charge", title, legend, words, _table(course, band, "Ah"), spec)


def voltage_figure(course: Course) -> Figure:
    """Voltage at the battery [V] over the outing, beside the cut-off."""
    band, stop = course.voltage_v, volts(course.cutoff_v, "near")
    title = (
        f"Voltage stays above {volts(float(np.nanmin(band.middle)), 'down')}; it would be stopped at {stop}"
    )
    if course.stops_s is not None and course.ended_by in EMPTY:
        title = f"Voltage falls to where it is stopped after {about_time(course.stops_s, 'down')}"
    layers, data = _layers(course, band, "Voltage (V)", BLUE, [(course.cutoff_v, "cut-off")], zero=False)
    words = f"{title}. At every moment nine runs in ten are between {band.low.min():.1f} and {band.high.max():.1f} V."
    legend = _legend(course) + " Dashed: where it is stopped."
    spec = whole(title, HEIGHT, layers, data)
    return Figure("voltage", title, legend, words, _table(course, band, "V"), spec)


def current_figure(course: Course) -> Figure:
    """Current at the battery [A] over the outing, and what the rest would draw once the run has ended."""
    band = course.current_a
    title = f"The outing draws up to {amps(float(np.nanmax(band.middle, initial=0.0)), 'up')}"
    layers, data = _layers(course, band, "Current (A)", PURPLE, [])
    legend = _legend(course)
    if course.wanted is not None:
        title += "; its last part is not served"
        legend += " Dotted: what the rest of the outing would draw."
        data["wanted"] = _wanted(course)
        look = {"color": ORANGE, "strokeDash": [2, 3], "strokeWidth": 2}
        layers.append(layer("wanted", "line", look, x=field("t"), y=field("middle", "Current (A)")))
    words = f"{title}. {_ends_at(band, 'A')}"
    spec = whole(title, HEIGHT, layers, data)
    return Figure("current", title, legend, words, _table(course, band, "A"), spec)


def _stopped(course: Course) -> str:
    when, whole = about_time(course.stops_s or 0.0, "down"), about_time(course.duration_s, "up")
    if course.ended_by == "inverter_cutout":
        return f"The inverter cuts out after about {when} of the {whole}"
    if course.ended_by == "trip":
        return f"At this use the tested unit switched off: here after about {when} of the {whole}"
    if course.ended_by == "unserved":
        return f"It can no longer give the power asked for after about {when} of the {whole}"
    if course.ended_by == STOPPED:
        return f"It is down to the voltage you stop at after about {when} of the {whole}"
    return f"It runs empty after about {when} of the {whole}"


def _legend(course: Course) -> str:
    text = (
        f"Line: the middle run. Band: nine of {course.draws} runs in ten."
        if course.draws
        else "Line: one run."
    )
    if course.stops_s is not None and course.ended_by in ENDS:
        text += f" Upright line: {ENDS[course.ended_by]}."
    if course.ended_by == "trip" or not course.peak_shown:
        text += " All of it only if it does not switch off."
    return text


def _ends_at(band: Band, unit: str) -> str:
    return f"At the end nine runs in ten lie between {band.low[-1]:.0f} and {band.high[-1]:.0f} {unit}."


def _scaled(band: Band, factor: float) -> Band:
    return Band(band.middle * factor, band.low * factor, band.high * factor)


def _columns(course: Course, band: Band) -> dict[str, Floats]:
    scale, _ = time_unit(course.duration_s)
    digits = 6 if scale > SECONDS_PER_MINUTE else 4  # to 4 ms and 6 ms: a surge keeps its width
    edges = {"middle": band.middle, "low": band.low, "high": band.high}
    return {"t": np.round(course.time_s / scale, digits)} | {name: edge.round(3) for name, edge in edges.items()}


def _pointer(course: Course, columns: dict[str, Floats]) -> dict[str, Any]:
    """The moments that answer the pointer, each told in words."""
    step = max(1, len(course.time_s) // POINTER_STOPS)
    when = [moment_text(second) for second in course.time_s[::step].tolist()]
    return {name: column[::step] for name, column in columns.items()} | {"when": when}


def _table(course: Course, band: Band, unit: str) -> dict[str, Floats]:
    scale, name = time_unit(course.duration_s)
    columns = np.stack(
        [(course.time_s / scale).round(4), band.middle.round(2), band.low.round(2), band.high.round(2)]
    )
    before = columns[:, :-1]
    again = (columns[:, 1:] == before) | (np.isnan(columns[:, 1:]) & np.isnan(before))
    kept = np.append(True, ~again.all(axis=0))
    heads = (f"Time ({name})", f"Middle ({unit})", f"Lower edge ({unit})", f"Upper edge ({unit})")
    return dict(zip(heads, columns[:, kept], strict=True))


def _wanted(course: Course) -> dict[str, Floats]:
    assert course.wanted is not None
    scale, _ = time_unit(course.duration_s)
    edges = course.wanted.edges_s / scale
    times = np.stack([edges[:-1], edges[1:]], axis=1).ravel()
    amps = np.stack([course.wanted.start_a, course.wanted.end_a], axis=1).ravel()
    return {"t": times.round(6), "middle": amps.round(3)}


def _layers(
    course: Course, band: Band, y_title: str, colour: str, levels: list[tuple[float, str]], zero: bool = True
) -> tuple[list[Spec], dict[str, Columns]]:
    """Band, middle line, level rules, the moment it stops, and a tooltip wherever the pointer is; and their data.

    levels : dashed lines across, (value, what it is). zero : the axis starts at zero.
    """
    scale, unit = time_unit(course.duration_s)
    columns = _columns(course, band)
    data: dict[str, Columns] = {"course": columns, "pointer": _pointer(course, columns)}
    x = field("t", f"Time from the start ({unit})", axis={"grid": False, "tickCount": 6},
              scale={"domain": [0.0, course.duration_s / scale], "nice": False})  # fmt: skip
    span = {"zero": True} if zero else {"domain": _volts(band, levels), "nice": False, "zero": False}
    axis = {"tickCount": 5, "minExtent": 34}
    low, middle, high = (field(name, y_title, scale=span, axis=axis) for name in ("low", "middle", "high"))
    line, edge = {"color": colour, "strokeWidth": 2}, {"color": colour, "strokeWidth": 0.7, "opacity": 0.9}
    layers = [
        layer("course", "area", {"color": colour, "opacity": 0.28}, x=x, y=low, y2={"field": "high"}),
        *(layer("course", "line", edge, x=x, y=y) for y in (low, high)),
        layer("course", "line", line, x=x, y=middle),
    ]
    if levels:
        data["levels"] = {"level": [level for level, _ in levels], "what": [what for _, what in levels]}
        dashed = {"color": VERMILION, "strokeDash": [6, 4], "strokeWidth": 1.5}
        words = [told("what", "Line"), told("level", "At", ".1f")]
        layers.append(layer("levels", "rule", dashed, y=field("level", y_title), tooltip=words))
    if course.stops_s is not None:
        end = ENDS.get(course.ended_by, "ends")
        data["stop"] = {"t": [course.stops_s / scale], "what": [end], "when": [moment_text(course.stops_s)]}
        words = [told("what", "End"), told("when", "After")]
        layers.append(layer("stop", "rule", {"color": GREY, "strokeWidth": 2}, x=x, tooltip=words))
    layers.append(
        layer("pointer", "rule", {"opacity": 0.0, "strokeWidth": 10}, x=x, tooltip=_tooltips(y_title))
    )
    return layers, data


def _volts(band: Band, levels: list[tuple[float, str]]) -> list[float]:
    """Axis of a voltage: from a little below the lowest thing shown to a little above the highest."""
    shown = [
        float(band.low.min()),
        float(band.high.max()),
        float(np.nanmin(band.middle)),
        float(np.nanmax(band.middle)),
    ]
    shown += [level for level, _ in levels]
    return [float(np.floor(min(shown) * 5.0 - 0.5) / 5.0), float(np.ceil(max(shown) * 5.0 + 0.5) / 5.0)]


def _tooltips(y_title: str) -> list[Spec]:
    """What the invisible upright lines answer to the pointer."""
    return [
        told("when", "After"),
        told("middle", f"{y_title}, middle", ".1f"),
        told("low", "Lower edge of the band", ".1f"),
        told("high", "Upper edge of the band", ".1f"),
    ]
