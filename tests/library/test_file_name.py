from __future__ import annotations

import re

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from planner.library.file_name import (
    LONGEST,
    file_key,
    file_key_with_ending,
    is_file_key,
    spoken,
    unused,
)

ANY_TEXT = st.text(max_size=200) | st.text(alphabet="./\\:~-_ aA0\u200b\u202e\x00", max_size=80)


@given(ANY_TEXT)
@example("")
@example("../../etc/passwd")
@example("C:\\Windows\\system32")
@example("\u202egpj.exe\u202c")
@example("\ud800 half a letter")
@example("nul")
@example("-rf")
def test_any_name_makes_a_file_name_safe_on_every_system(name: str) -> None:
    key = file_key(name)
    assert re.fullmatch(r"[a-z0-9]([a-z0-9_-]*[a-z0-9])?", key)
    assert len(key) <= LONGEST
    assert key not in {"con", "prn", "aux", "nul", "com1", "lpt9"}
    assert is_file_key(key)


@given(ANY_TEXT)
def test_a_file_name_is_its_own_file_name(name: str) -> None:
    assert file_key(file_key(name)) == file_key(name)
    assert file_key_with_ending(file_key_with_ending(name)) == file_key_with_ending(name)


@given(ANY_TEXT, st.sampled_from([".csv", ".CSV", ".toml", ".epw"]))
def test_the_ending_of_an_uploaded_name_is_kept_and_nothing_else_of_its_path(name: str, ending: str) -> None:
    made = file_key_with_ending(f"../{name}x{ending}")
    assert re.fullmatch(r"[a-z0-9_-]+" + re.escape(ending.lower()), made)


def test_common_names_stay_readable() -> None:
    assert file_key("Demo unit one, 100 Ah (invented)") == "demo-unit-one-100-ah-invented"
    assert file_key("unit_one") == "unit_one"
    assert file_key("Café 12.5 V") == "cafe-12-5-v"


def test_names_in_another_script_keep_apart() -> None:
    names = ["лодка", "лодки", "ボート", "小船", "قارب"]
    assert len({file_key(name) for name in names}) == len(names)


def test_a_name_of_a_megabyte_is_shortened_and_its_end_still_counts() -> None:
    one, other = file_key("n" * 1_000_000), file_key("n" * 999_999 + "m")
    assert len(one) <= LONGEST
    assert one != other


@pytest.mark.parametrize("name", ["con", "Con", "NUL", "com1", "lpt9", "aux "])
def test_device_names_are_no_file_names(name: str) -> None:
    assert file_key(name).endswith("-profile")


def test_names_that_look_alike_are_one_name() -> None:
    assert spoken("Boat\u200b  One") == spoken("boat one") == spoken("\u202ebOAT\u00a0ONE")
    assert spoken("boat two") != spoken("boat one")


@given(st.lists(st.sampled_from(["a", "boat", "x" * 60, "x" * 59]), max_size=30))
def test_numbered_names_are_new_and_safe(wanted: list[str]) -> None:
    taken: set[str] = set()
    for key in wanted:
        made = unused(key, taken)
        assert made not in taken
        assert file_key(made) == made
        taken.add(made)
