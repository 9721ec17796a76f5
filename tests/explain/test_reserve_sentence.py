"""The reserve's sentence names what decides: how often plan and reserve hold together."""

from __future__ import annotations

from planner.explain.energy_sentences import SENTENCES

AH = 3600.0


def test_a_reserve_that_holds_too_seldom_says_how_often_it_holds():
    """The plan as entered leaves room; what the loads may draw beyond it does not."""
    parts = {"need_c": 46.7 * AH, "reserve_c": 9.9 * AH, "p10_c": 47.1 * AH, "completes": 0.72}
    said = SENTENCES["reserve_fits_with_limits"](parts)
    assert "hold in about 7 in 10 outings" in said
    assert "Your loads may take more than planned" in said
    assert "hold in" not in SENTENCES["reserve_fits"](parts)
