"""What a long log hides in its joined pieces, against the same log walked sample by sample. Invented log and unit."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from planner.explain.sentences import sentence
from planner.outing import coarse
from planner.outing.schema import Load, Log, Outing, Use, Wiring
from planner.verdict.assess import Assessment, assess
from planner.verdict.inverter import lowest_used_v
from planner.verdict.wiring_check import lowest_load_v
from tests.verdict.invented_records import UNIT, hold

HELD = replace(UNIT, current_tests=(*UNIT.current_tests, hold(130.0, 300.0, 5)))
LASTS_S = 3 * 3600


def logged(pulls: list[tuple[int, int]], soc: float, cutoff_v: float, inverter: bool = False) -> Outing:
    """A restless 5 A by the second, with pulls of 118 A (start, length); perhaps beside an inverter of 60 W."""
    rng = np.random.default_rng(7)
    amps = 5.0 + rng.normal(0.0, 0.3, LASTS_S + 1)
    for start, length in pulls:
        amps[start : start + length] = 118.0 + rng.normal(0.0, 0.5, length)
    log = Log(Path("invented.csv"), tuple(np.arange(LASTS_S + 1.0).tolist()), tuple(amps.tolist()), "hold")
    loads = [Load("log", "recorded", (Use(0.0, LASTS_S),), "logged", 0.05, log=log)]
    if inverter:
        loads.append(Load("cooler", "inverter", (Use(0.0, LASTS_S),), "measured", 0.02, power_w=60.0, efficiency=0.88,
                          cutout_v=11.0, cutout_delay_s=2.0))  # fmt: skip
    wiring = Wiring("AWG 4", 21.15e-6, 2.0) if inverter else None
    return Outing("logged", float(LASTS_S), 288.15, 288.15, tuple(loads), start_soc=soc, cutoff_v=cutoff_v, wiring=wiring)


def both(outing: Outing, monkeypatch) -> tuple[Assessment, Assessment]:
    """As answered, and with no piece joined."""
    joined = assess(HELD, outing, draws=40)
    monkeypatch.setattr(coarse, "MOST_PIECES", 10**9)
    return joined, assess(HELD, outing, draws=40)


def test_long_pulls_are_walked_as_they_are_and_end_the_run_where_they_do(monkeypatch):
    joined, fine = both(logged([(k * 1800, 20) for k in range(1, 6)], soc=0.4, cutoff_v=10.5), monkeypatch)
    assert len(joined.batch.walked.edges_s) < 700 < 10_000 < len(fine.batch.walked.edges_s)
    # joined with what lies beside it each pull lost a tenth of its current, and the run outlived one or two of them
    assert joined.runtime.nominal_s == pytest.approx(fine.runtime.nominal_s, abs=5.0)
    assert joined.runtime.p10_s == pytest.approx(fine.runtime.p10_s, abs=5.0)


def test_a_joined_log_shows_no_pull_that_sags_too_near_the_cut_off(monkeypatch):
    # a hold speaks while the voltage keeps half a volt clear: above 12.1 V it does so at 5 A, and not in the pulls
    joined, fine = both(logged([(k * 36, 3) for k in range(300)], soc=0.9, cutoff_v=12.1), monkeypatch)
    assert fine.runtime.completes == 1.0 and fine.peak.zone == "untested"
    assert joined.peak.zone == "untested"


def test_the_voltage_told_of_a_joined_log_is_never_higher_than_of_its_samples(monkeypatch):
    joined, fine = both(logged([(k * 36, 3) for k in range(300)], soc=0.9, cutoff_v=10.0, inverter=True), monkeypatch)
    trace = joined.need.trace
    middle = 0.5 * (trace.edges_s[1:] + trace.edges_s[:-1])[trace.start_a > 100.0]
    seen_v = fine.need.v90_v[np.searchsorted(fine.need.trace.edges_s, middle) - 1]
    assert len(middle) == 900
    assert np.all(joined.need.v90_v[trace.start_a > 100.0] <= seen_v + 0.005)
    for read in (lowest_load_v, lambda batch: lowest_used_v(batch, 0.003)):
        told, seen = read(joined.batch), read(fine.batch)
        assert told is not None and seen is not None
        assert told == pytest.approx(seen, abs=0.03)  # 118 A lose about half a volt


def test_a_slow_log_says_at_the_peak_what_is_not_in_it_and_lowers_its_evidence():
    def peak(usual_s):
        log = Log(Path("invented.csv"), (0.0, 900.0, 3600.0), (5.0, 7.0, 7.0), "hold", usual_s)
        outing = Outing("logged", 3600.0, 298.15, 298.15, (Load("log", "recorded", (Use(0.0, 3600.0),), "logged", 0.05, log=log),))
        return next(check for check in assess(HELD, outing, draws=40).checks if check.id == "peak_current")

    slow, fine = peak(900.0), peak(1.0)
    assert (slow.verdict, slow.evidence) == ("fits", "stated")
    assert "Your log has one reading in 15 minutes: harder pulls that are shorter than that are not in it" in sentence(slow.reason)
    assert (fine.verdict, fine.evidence) == ("fits", "logged")
    assert "Your log" not in sentence(fine.reason)
