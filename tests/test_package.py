"""The public surface: small, listed, and quick to import."""

from __future__ import annotations

import subprocess
import sys

import pytest

import planner


def test_the_public_functions_are_those_listed_here():
    # growth is a decision: a new name is written here too
    assert planner.__all__ == ["assess", "read_climate", "read_outing", "read_record"]
    assert all(callable(getattr(planner, name)) for name in planner.__all__)
    assert set(planner.__all__) <= set(dir(planner))


def test_a_name_that_is_not_there_is_an_attribute_error():
    with pytest.raises(AttributeError):
        planner.no_such_thing  # noqa: B018


@pytest.mark.parametrize("module", ["planner", "planner.cli"])
def test_importing_loads_nothing_heavy(module):
    heavy = "('numpy', 'scipy', 'pandas', 'pint', 'streamlit')"
    code = f"import {module}, sys; print([name for name in {heavy} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("module", ["planner.screens.answering", "planner.screens.fit_parts", "planner.explain.sheet"])
def test_the_first_answer_waits_for_no_library_it_does_not_use(module):
    # together they take longer to import than the answer takes to work out
    heavy = "('pandas', 'pyarrow', 'altair', 'scipy.stats', 'scipy.signal', 'scipy.interpolate', 'pvlib', 'pint', 'typst', 'vl_convert')"
    code = f"import {module}, sys; print([name for name in {heavy} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
