"""The runs counted by how long they last are all of the runs, in the place where each ends."""

from __future__ import annotations

import numpy as np
import pytest

from planner.explain.runtime_chart import BARS, runtime_figure
from tests.explain.demo import assessed

PAIRS = [("unit_one", "trolling_day"), ("unit_four", "trolling_day"), ("unit_one", "bank_motor"),
         ("unit_three", "anchor_winch")]  # fmt: skip


@pytest.mark.parametrize(("battery", "outing"), PAIRS)
def test_every_run_stands_in_one_bar_or_is_told_as_beyond(battery: str, outing: str) -> None:
    found = assessed(battery, outing)
    figure, batch = runtime_figure(found), found.batch
    lasts_h = batch.runtime_s()[batch.draws] / 3600.0
    ended = lasts_h[np.isfinite(lasts_h)]
    table = figure.table
    assert table["Runs"].sum() == len(ended)
    assert len(table) == (BARS if len(ended) else 0)
    assert ("beyond 10,000 h" in figure.legend) == (len(ended) < len(lasts_h))
    below = table["to (h)"] <= ended.min() + 0.5 * np.ptp(ended)
    # a run in the bar that the middle cuts may stand on either side
    assert abs(table["Runs"][below].sum() - (ended <= ended.min() + 0.5 * np.ptp(ended)).sum()) <= table["Runs"].max()


def test_the_finding_counts_the_runs_that_last_as_long_as_is_needed() -> None:
    for battery, outing in PAIRS:
        one = assessed(battery, outing)
        enough = (one.batch.runtime_s()[one.batch.draws] >= one.runtime.needed_s).sum()
        begin = f"All {one.draws}" if enough == one.draws else f"{enough} of {one.draws}" if enough else f"None of {one.draws}"
        assert runtime_figure(one).title.startswith(f"{begin} runs")
    found = assessed("unit_one", "trolling_day")
    lasts_s = found.batch.runtime_s()[found.batch.draws]
    low = runtime_figure(found).spec["datasets"]["p10"][0]["at"]
    assert np.mean(lasts_s >= 3600.0 * low - 1e-6) >= 0.9


def test_runs_that_all_end_alike_stand_in_one_bar() -> None:
    from planner.explain.runtime_chart import _counted

    counted = _counted(np.full(50, 2.0))
    assert max(counted["runs"]) == sum(counted["runs"]) == 50
    assert _counted(np.array([])) == {"from": [], "to": [], "runs": []}
