"""A few visitors for a few seconds; the whole is python -m tests.load.run."""

from __future__ import annotations

import pytest

from tests.load.run import load

SESSIONS = 3


@pytest.mark.slow
def test_visitors_at_once_get_pages_without_an_error_and_memory_stays_bounded() -> None:
    told = load(SESSIONS, 1.0, pause_s=(0.1, 0.5), least=2)
    print(told)
    assert told.errors == ()
    assert told.looks >= 2 * SESSIONS
    assert told.most_mb < 1500.0  # what a small rented machine has beside its system
