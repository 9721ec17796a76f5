"""Files of any values at all, by hypothesis: the readers of TOML meet every type in every place."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import pytest
import tomlkit
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.errors import InputRefused, is_visible, visible
from planner.library.checking import READERS
from planner.library.place import DEMO
from planner.toml_table import table_of_values
from planner.toml_text import parse
from tests.fuzz.mutations import NASTY_TEXTS
from tests.fuzz.trial import unhelpful

KINDS = ("batteries", "outings", "climates")
QUIET = settings(max_examples=40, suppress_health_check=list(HealthCheck), derandomize=True)
SIMPLE = st.one_of(
    st.sampled_from(NASTY_TEXTS),
    st.text(max_size=40),
    st.integers(),
    st.floats(),
    st.booleans(),
    st.dates(),
    st.datetimes(),
    st.times(),
)
VALUES = st.recursive(
    SIMPLE,
    lambda inner: st.lists(inner, max_size=5) | st.dictionaries(st.text(max_size=12), inner, max_size=5),
    max_leaves=20,
)


@cache
def goods(kind: str) -> list[dict[str, Any]]:
    return [parse(path.read_bytes(), path.name) for path in sorted((DEMO / kind).glob("*.toml"))]


def places(node: Any, before: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """The way to everything in a file."""
    pairs = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    return [way for key, value in pairs for way in ((*before, key), *places(value, (*before, key)))]


def with_value(node: Any, way: tuple[str | int, ...], value: Any) -> Any:
    if not way:
        return value
    copy = dict(node) if isinstance(node, dict) else list(node)
    copy[way[0]] = with_value(copy[way[0]], way[1:], value)  # type: ignore[index]
    return copy


@pytest.mark.parametrize("kind", KINDS)
@QUIET
@given(data=st.data())
def test_any_value_in_any_place_is_read_or_refused_in_words(kind: str, data: st.DataObject) -> None:
    values = data.draw(st.sampled_from(goods(kind)))
    for _ in range(data.draw(st.integers(1, 3))):
        values = with_value(values, data.draw(st.sampled_from(places(values) or [()])), data.draw(VALUES))
        if not isinstance(values, dict):
            return
    try:
        READERS[kind](table_of_values(values, "file.toml", DEMO / kind))
    except InputRefused as refusal:
        assert unhelpful(refusal) is None


@pytest.mark.parametrize("kind", (*KINDS, "cases"))
@QUIET
@given(values=st.dictionaries(st.text(max_size=12), VALUES, max_size=8))
def test_a_file_of_any_values_is_refused_in_words(kind: str, values: dict[str, Any]) -> None:
    with pytest.raises(InputRefused) as refused:
        READERS[kind](table_of_values({"format": 2, **values}, "file.toml"))
    assert unhelpful(refused.value) is None


@QUIET
@given(text=st.text(max_size=200) | st.sampled_from(NASTY_TEXTS))
def test_any_text_is_made_visible_once_and_nothing_else_of_it_changes(text: str) -> None:
    shown = visible(text)
    assert is_visible(shown)
    assert visible(shown) == shown
    if is_visible(text):
        assert shown == text


@QUIET
@given(name=st.text(min_size=1, max_size=60))
def test_a_name_that_is_accepted_can_be_seen(name: str) -> None:
    text = (
        tomlkit.dumps({"format": 1, "name": name})
        if name.isprintable()
        else f"format = 1\nname = {json.dumps(name)}\n"
    )
    try:
        case = READERS["cases"](
            table_of_values(parse(text.encode("utf-8", "replace"), "case.toml"), "case.toml")
        )
    except InputRefused as refusal:
        assert unhelpful(refusal) is None
        return
    assert is_visible(case.name)
    assert case.name.strip("\u200b\u200c\u200d\u2060\ufeff \t\n")
