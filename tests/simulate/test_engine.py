"""Scenarios shared out among processors."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest

from planner.simulate import engine
from planner.simulate.setup import Run, Trace
from tests.oracles.pieces import steady
from tests.simulate.invented_packs import PACK, run


def parts_of(found: Run) -> dict[str, object]:
    """Every array of a run, its trace's as well."""
    assert isinstance(found.trace, Trace)
    both = (found, found.trace)
    return {
        field.name: getattr(one, field.name) for one in both for field in fields(one) if field.name != "trace"
    }


@pytest.mark.parametrize("processors", [2, 3, 7])
@pytest.mark.parametrize("power", [False, True])
def test_every_number_is_the_same_however_many_processors_share_them(
    monkeypatch: pytest.MonkeyPatch, processors: int, power: bool
) -> None:
    count = processors * engine.LEAST_A_THREAD + 1
    spread = np.linspace(0.5, 3.0, count)[np.newaxis]
    line = steady(power_w=300.0) if power else steady(current_a=40.0)
    found = []
    for number in (1, processors):
        monkeypatch.setattr(engine, "_processors", lambda number=number: number)
        found.append(parts_of(run([PACK] * count, line, load_factor=spread, trips=((90.0, 600.0),))))
    for name, alone in found[0].items():
        assert np.array_equal(alone, found[1][name], equal_nan=np.asarray(alone).dtype.kind == "f"), name


def test_a_few_scenarios_begin_no_thread(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise AssertionError("a thread was begun")

    monkeypatch.setattr(engine, "ThreadPoolExecutor", refuse)
    monkeypatch.setattr(engine, "_processors", lambda: 8)
    few = 2 * engine.LEAST_A_THREAD - 1
    assert run([PACK] * few, steady(current_a=40.0)).end_s.shape == (few,)
