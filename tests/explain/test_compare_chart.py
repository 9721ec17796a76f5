"""The rows of the chart of several batteries."""

from __future__ import annotations

from planner.explain.compare_chart import _times


def test_two_batteries_whose_names_begin_alike_keep_a_row_each():
    row = {"p10_h": 1.0, "nominal_h": 2.0, "p90_h": 3.0, "verdict": "fits"}
    names = ["A long name with no comma in it A", "A long name with no comma in it B"]
    frame = _times([row | {"battery": name} for name in names])
    assert frame["battery"].tolist() == names
