"""A long log in fewer pieces hides no current that lasts as long as the soonest cut-off's delay."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.outing.build import build_timeline
from planner.outing.coarse import coarsen
from planner.outing.exceedance import Trace, longest_run_s
from planner.outing.reader import read_outing
from planner.outing.timeline import Timeline

SAMPLE_S = 0.1


def logged(amps: np.ndarray, delay_s: float) -> Timeline:
    """A held log, and beside it an inverter that gives up after delay_s, NaN for none."""
    edges = np.arange(len(amps) + 1) * SAMPLE_S
    current = np.stack([amps, np.zeros_like(amps)])
    nothing = np.zeros_like(current)
    cutout = np.array([np.nan, 11.0 if np.isfinite(delay_s) else np.nan])
    return Timeline(edges, current, current.copy(), nothing, nothing.copy(), nothing > 0.0, cutout,
                    np.array([np.nan, delay_s]), np.full(2, np.nan), np.zeros(2), ("log", "inverter"),
                    ("logged", "measured"))  # fmt: skip


@settings(max_examples=30, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    delay_s=st.sampled_from([0.0, 0.1, 0.3, 0.7]),
    own_s=st.sampled_from([0.0, 0.2, 1.0]),
)
def test_every_stretch_as_long_as_the_soonest_delay_is_held_in_all_pieces_it_touches(seed, delay_s, own_s):
    rng = np.random.default_rng(seed)
    fine = logged(np.repeat(rng.integers(1, 100, 700), rng.integers(1, 9, 700)).astype(float), delay_s)
    walked = coarsen(fine, own_s)
    assert walked.swing is not None
    soonest_s, amps = min(delay_s, own_s), fine.current_start_a[0]
    for level in (40.0, 70.0, 90.0):
        met = np.flatnonzero(np.diff(amps >= level, prepend=False, append=False))
        for begin, end in zip(fine.edges_s[met[::2]], fine.edges_s[met[1::2]], strict=True):
            if end - begin < soonest_s - 1e-9:
                continue
            touched = (walked.edges_s[1:] > begin + 1e-9) & (walked.edges_s[:-1] < end - 1e-9)
            assert np.all(walked.swing.hold_a[0, touched] >= level)


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_a_current_that_lasts_less_in_all_is_not_held_against_a_cut_off(seed):
    rng = np.random.default_rng(seed)
    amps = np.full(4000, 5.0)
    amps[1000::2000] = 90.0  # alone, a tenth of a second
    amps += rng.integers(0, 2, len(amps))
    walked = coarsen(logged(amps, np.nan), 1.0)
    assert walked.swing is not None
    # a pull that is a piece by itself is as short there as it was; no other holds more than 6 A for that long
    joined = walked.current_start_a[0] < 50.0
    assert np.all(np.diff(walked.edges_s)[~joined] < 0.11)
    assert walked.swing.hold_a[0, joined].max() < 14.5 + 1e-9  # the mean of a second with that pull: (9 x 6 + 91) A / 10
    assert longest_run_s(Trace(np.arange(4001) * SAMPLE_S, amps, amps), 80.0)[0] == pytest.approx(0.1)


def test_an_outing_read_from_a_file_keeps_its_short_pulls_for_an_inverter_that_gives_up_at_once(tmp_path: Path):
    rows = [f"{n * SAMPLE_S:.1f},{90.0 if n % 50 in (7, 8) else 5.0 + n % 2}" for n in range(4001)]
    (tmp_path / "log.csv").write_text("time (s),current (A)\n" + "\n".join(rows) + "\n", encoding="utf-8")
    (tmp_path / "need.toml").write_text(
        'format = 1\nname = "Pulls (invented)"\nduration = "400 s"\nambient = "25 degC"\n'
        '[[load]]\nname = "log"\nkind = "recorded"\nlog = "log.csv"\nbetween_samples = "hold"\nevidence = "logged"\n'
        '[[load]]\nname = "cooler"\nkind = "inverter"\npower = "60 W"\nefficiency = "90 %"\ncutout_voltage = "11 V"\n',
        encoding="utf-8",
    )
    outing = read_outing(tmp_path / "need.toml")
    walked = coarsen(build_timeline(outing), outing.cutoff_delay_s)
    assert walked.swing is not None and len(walked.edges_s) < 600
    assert walked.swing.hold_a[0].min() < 10.0 < walked.swing.hold_a[0].max() == 90.0


def test_the_largest_changes_of_a_log_stay_edges():
    rng = np.random.default_rng(3)
    amps = 5.0 + rng.random(4000)
    for start in range(100, 4000, 100):
        amps[start : start + 17] += 90.0
    walked = coarsen(logged(amps, np.nan), 1.0)
    for start in range(100, 4000, 100):
        for edge in (start, start + 17):
            assert np.abs(walked.edges_s - edge * SAMPLE_S).min() < 1e-9
    assert len(walked.edges_s) <= 602
