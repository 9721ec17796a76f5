"""How hard for how long: the outing's longest pulls on the map of what the unit held and where it switched off."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.battery.envelope import (
    CONFLICT,
    DEMONSTRATED,
    TRIPS,
    UNTESTED,
    WITHIN_METER_ERROR,
    Envelope,
    covering_passes,
    frontier,
)
from planner.constants import ZERO_CELSIUS_K
from planner.explain.chart_look import (
    BLUE,
    GREEN,
    ORANGE,
    VERMILION,
    Columns,
    Figure,
    Spec,
    field,
    layer,
    told,
    whole,
)
from planner.explain.words import about_time, amps, exact_time
from planner.verdict.assess import Assessment
from planner.verdict.peak import Peak

Floats = NDArray[np.float64]

HEIGHT = 400
OUTING, HELD, NEAR, OPENED = "this outing", "held on the bench", "meter's error", "switched off"
KINDS = (OUTING, HELD, NEAR, OPENED)
TINTS = (BLUE, GREEN, ORANGE, VERMILION)
SHAPES = ("circle", "square", "diamond", "cross")
SPOKEN_TICKS_S = (0.01, 0.1, 1.0, 10.0, 60.0, 600.0, 3600.0, 36000.0, 360000.0, 3600000.0)
SHORTEST_S = 0.3  # left end of the axis unless the outing has shorter surges
SHORTEST_END_S, LOWEST_TOP_A = 3600.0, 10.0  # the axes reach at least this far
MAP_POINTS = 64  # durations at which the edges are drawn; tested durations are added exactly
MANY_POINTS = 60  # above it the outing's points are drawn small
NEXT = 1.0 + 1e-6  # just after a tested duration
CURRENT = "Current (A)"
ENDINGS = {
    WITHIN_METER_ERROR: "lies within the meter's error of a test",
    UNTESTED: "is not covered by a test",
    TRIPS: "is where the tested unit switched off",
    CONFLICT: "was held in one test and switched it off in another",
}
NOT_POINTS = ("ramp", "lasting half")  # passes that are lines or rules, not single readings
TICK_WORDS = (
    "datum.value < 60 ? format(datum.value, '~g') + ' s' : datum.value < 3600 ? "
    "format(datum.value / 60, '~g') + ' min' : format(datum.value / 3600, '~g') + ' h'"
)


def current_map_figure(assessment: Assessment) -> Figure:
    """Current against duration, both plain: tests, meter error, and what the outing asks."""
    need, tests = _need_rows(assessment.peak), _test_rows(assessment.envelope)
    inside = _inside(assessment)
    title = _finding(assessment.peak, inside)
    span, top = _limits(need, tests)
    axis = {"values": [t for t in SPOKEN_TICKS_S if span[0] <= t <= span[1]], "labelExpr": TICK_WORDS,
            "grid": False, "labelOverlap": True, "labelFlush": True}  # fmt: skip
    scale = {"type": "log", "domain": list(span), "nice": False}
    x = field("seconds", "Held without a break (log scale)", axis=axis, scale=scale)
    y = field("amps", CURRENT, axis={"tickCount": 6}, scale={"domain": [0.0, top], "nice": False})
    areas, asked = _areas(assessment.envelope, span, top), _asked(need, span[0])
    data = areas | {"tests": tests} | asked
    layers = [*_area_layers(areas, x, y), *_test_layers(x, y), *_need_layers(asked, x, y)]
    legend = "Blank: not tested. Ring: what decides."
    if "hollow" in data:
        legend += " Hollow: not shown by a test."
    if inside.any():
        legend += " Hollow in the field held on the bench: the tests were warmer, or the battery was fuller, than here."
    spec = whole(title, HEIGHT, layers, data)
    return Figure("current_map", title, legend, _words(title, need, tests), _table(need, tests), spec)


def _need_rows(peak: Peak) -> list[Spec]:
    """The outing's points, the shortest first and of equals the hardest."""
    found = [
        {
            "amps": float(point.current_a), "seconds": float(point.duration_s), "basis": point.basis,
            "zone": zone.name, "decides": number == peak.worst, "long": about_time(point.duration_s, "up"),
            "how": "longest pull" if point.basis == "run" else "heating average (RMS)",
        }
        for number, (point, zone) in enumerate(zip(peak.points, peak.zones, strict=True))
        if point.duration_s > 0.0
    ]  # fmt: skip
    return sorted(found, key=lambda row: (row["seconds"], -row["amps"]))


def _test_rows(envelope: Envelope) -> list[Spec]:
    """The readings that are single points, with their meters' error."""
    held = [
        (test.current_a, test.limit_a, test.duration_s, HELD, test.kind, test.source,
         f"{test.cell_k - ZERO_CELSIUS_K:.0f} °C")
        for test in envelope.passes
        if test.kind not in NOT_POINTS
    ]  # fmt: skip
    opened = [
        (trip.current_a, trip.limit_a, trip.duration_s, OPENED, "trip", trip.source, "any")
        for trip in envelope.trips
    ]
    return [
        {
            "amps": float(current_a), "error": float(limit_a), "seconds": float(duration_s), "what": what,
            "kind": kind, "source": source, "cells": cells, "low": float(current_a - limit_a),
            "high": float(current_a + limit_a), "long": exact_time(float(duration_s)),
        }
        for current_a, limit_a, duration_s, what, kind, source, cells in held + opened
    ]  # fmt: skip


def _inside(assessment: Assessment) -> NDArray[np.bool_]:
    """Which points of the need would be covered by tests, had these been made as cold and as empty."""
    peak, envelope = assessment.peak, assessment.envelope
    covered = [bool(covering_passes(envelope, point.current_a, point.duration_s)) for point in peak.points]
    return np.array(covered, dtype=np.bool_) & np.array(
        [zone.name == UNTESTED for zone in peak.zones], dtype=np.bool_
    )


def _finding(peak: Peak, inside: NDArray[np.bool_]) -> str:
    """The title: what decides, and what is known of it."""
    if peak.worst is None:
        return "The outing draws nothing"
    point, zone = peak.points[peak.worst], peak.zones[peak.worst]
    asked = f"{amps(point.current_a, 'up')} for {about_time(point.duration_s, 'up')}"
    if point.basis == "rms":
        asked = f"pulsing that heats like {asked}"
    if zone.name == DEMONSTRATED:
        spare = amps(zone.margin_a or 0.0, "down")
        return f"Every pull of this outing was shown to hold on the bench, the closest with {spare} to spare"
    if inside[peak.worst]:
        return f"What decides, {asked}, was tested only warmer or fuller than in this outing"
    return f"What decides, {asked}, {ENDINGS[zone.name]}"


def _limits(need: list[Spec], tests: list[Spec]) -> tuple[tuple[float, float], float]:
    """Axis of time [s] and top of the axis of current [A]."""
    seconds = [row["seconds"] for row in (*need, *tests)]
    amps = [row["amps"] for row in need] + [row["high"] for row in tests]
    shortest = min(seconds, default=SHORTEST_S)
    first = SHORTEST_S if shortest >= SHORTEST_S else shortest / 2.0
    last = max(max(seconds, default=0.0) * 1.6, SHORTEST_END_S)
    return (first, last), max(max(amps, default=0.0) * 1.12, LOWEST_TOP_A)


def _areas(envelope: Envelope, span: tuple[float, float], top: float) -> dict[str, Columns]:
    """Lower and upper edge of each zone over time, by name; a zone that is not there has no entry."""
    marks = [test.duration_s for test in envelope.passes]
    marks = [t for t in (*marks, *(trip.duration_s for trip in envelope.trips)) if span[0] < t < span[1]]
    grid = np.geomspace(*span, MAP_POINTS)
    times = np.unique(np.concatenate([grid, marks, np.array(marks) * NEXT, np.array(marks) / NEXT]))
    edges = frontier(envelope, times)
    trips = np.where(np.isnan(edges.trips_from_a), top, np.minimum(edges.trips_from_a, top))
    shown = np.nan_to_num(np.minimum(edges.demonstrated_a, trips))
    above = np.clip(np.nan_to_num(edges.blurred_to_a), shown, trips)
    below = np.where(np.isnan(edges.blurred_from_a), trips, np.clip(edges.blurred_from_a, above, trips))
    zero, ceiling = np.zeros(len(times)), np.full(len(times), top)
    parts = [("shown", HELD, zero, shown), ("near_test", NEAR, shown, above), ("near_trip", NEAR, below, trips),
             ("opened", OPENED, trips, ceiling)]  # fmt: skip
    found: dict[str, Columns] = {}
    for part, what, low, high in parts:
        there = high > low
        if there.any():
            there[:-1] |= there[1:]  # the step to the first trip belongs to its zone
            kept = there if part == "opened" else np.ones_like(there)
            found[part] = {
                "seconds": times[kept], "from": low[kept].round(3), "to": high[kept].round(3),
                "what": [what] * int(kept.sum()),
            }  # fmt: skip
    return found


def _colour() -> Spec:
    """What a mark is, by colour; the legend also shows its shape."""
    legend = {"orient": "bottom", "columns": 2, "labelLimit": 0, "symbolSize": 110, "symbolOpacity": 1.0}
    return field("what", None, "nominal", scale={"domain": list(KINDS), "range": list(TINTS)}, legend=legend)


def _shape() -> Spec:
    return field("what", None, "nominal", scale={"domain": list(KINDS), "range": list(SHAPES)})


def _area_layers(data: dict[str, Columns], x: Spec, y: Spec) -> list[Spec]:
    """A tint for each zone, an unbroken line where holding ends and a broken one where it switched off."""
    low, high = y | {"field": "from"}, y | {"field": "to"}
    layers = [
        layer(part, "area", {"opacity": 0.24}, x=x, y=low, y2={"field": "to"}, color=_colour())
        for part in ("shown", "near_test", "near_trip", "opened")
        if part in data
    ]
    if "shown" in data:
        layers.append(layer("shown", "line", {"strokeWidth": 1.5, "color": GREEN}, x=x, y=high))
    if "opened" in data:
        broken = {"strokeWidth": 1.5, "strokeDash": [6, 3], "color": VERMILION}
        layers.append(layer("opened", "line", broken, x=x, y=low))
    return layers


def _test_layers(x: Spec, y: Spec) -> list[Spec]:
    """Every reading with its meter's error as a bar."""
    words = [
        told("what", "Bench"), told("amps", CURRENT, ".1f"), told("error", "Meter's error, either way (A)", ".1f"),
        told("long", "For"), told("kind", "Kind"), told("cells", "Cells"), told("source", "Entry in the record"),
    ]  # fmt: skip
    dots = {"size": 110, "filled": True, "opacity": 1.0}
    low = y | {"field": "low"}
    return [
        layer("tests", "rule", {"strokeWidth": 2}, x=x, y=low, y2={"field": "high"}, color=_colour()),
        layer("tests", "point", dots, x=x, y=y, color=_colour(), shape=_shape(), tooltip=words),
    ]


def _asked(need: list[Spec], first_s: float) -> dict[str, list[Spec]]:
    """The outing's data: its longest pulls as a stair, points shown by a test or not, and the one that decides."""
    need = [row | {"what": OUTING} for row in need]
    runs = [row for row in need if row["basis"] == "run"]
    parts = {
        "stair": [row | {"seconds": first_s} for row in runs[:1]] + runs,
        "filled": [row for row in need if row["zone"] == DEMONSTRATED],
        "hollow": [row for row in need if row["zone"] != DEMONSTRATED],
        "decides": [row for row in need if row["decides"]],
    }
    return {name: part for name, part in parts.items() if part}


def _need_layers(data: dict[str, list[Spec]], x: Spec, y: Spec) -> list[Spec]:
    words = [told("how", "This outing"), told("amps", CURRENT, ".1f"), told("long", "For"),
             told("zone", "On the bench")]  # fmt: skip
    layers = []
    if "stair" in data:
        stair = {"interpolate": "step-before", "strokeWidth": 2.5}
        layers.append(layer("stair", "line", stair, x=x, y=y, color=_colour()))
    size = 55 if len(data.get("stair", ())) < MANY_POINTS else 20
    for part in ("filled", "hollow"):
        if part in data:
            dots = {"size": size, "filled": part == "filled", "opacity": 1.0, "strokeWidth": 2}
            layers.append(
                layer(part, "point", dots, x=x, y=y, color=_colour(), shape=_shape(), tooltip=words)
            )
    if "decides" in data:
        ring = {"size": 420, "filled": False, "strokeWidth": 2.5, "shape": "circle", "color": BLUE}
        layers.append(layer("decides", "point", ring, x=x, y=y, tooltip=words))
    return layers


def _words(title: str, need: list[Spec], tests: list[Spec]) -> str:
    held, opened = ([row for row in tests if row["what"] == what] for what in (HELD, OPENED))
    parts = [f"{title}."]
    if held:
        best = max(held, key=_amps)
        parts.append(f"The highest current held on the bench is {best['amps']:.0f} A for {best['long']}.")
    else:
        parts.append("No current was held on the bench.")
    if opened:
        least = min(opened, key=_amps)
        parts.append(
            f"The lowest current that switched it off is {least['amps']:.0f} A, after {least['long']}."
        )
    if need:
        parts.append(f"The outing's highest current is {max(map(_amps, need)):.0f} A.")
    return " ".join(parts)


def _amps(row: Spec) -> float:
    found: float = row["amps"]
    return found


def _table(need: list[Spec], tests: list[Spec]) -> dict[str, list[Any]]:
    """The outing's points, then the bench's readings; only those have an error."""
    listed = [("this outing, " + row["how"], math.nan, row["zone"], row) for row in need]
    listed += [(f"{row['what']}, {row['kind']}", round(row["error"], 2), row["source"], row) for row in tests]
    return {
        "What": [what for what, *_ in listed],
        "Current (A)": [round(row["amps"], 2) for *_, row in listed],
        "Duration (s)": [round(row["seconds"], 2) for *_, row in listed],
        "Meter's error (A)": [error for _, error, *_ in listed],
        "On the bench": [where for _, _, where, _ in listed],
    }
