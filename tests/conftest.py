"""What holds for every test."""

from __future__ import annotations

from hypothesis import settings

# No example may fail for being slow: how long it takes says more about the machine than about the planner. What hangs is
# ended by pytest's own timeout.
settings.register_profile("any machine", deadline=None)
settings.load_profile("any machine")
