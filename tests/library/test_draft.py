from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.errors import InputRefused
from planner.library.draft import (
    DRAFTS,
    Draft,
    draft_of,
    drafts,
    keep_draft,
    new_draft,
    remove_draft,
    save_draft,
)
from planner.library.store import Library, SavedMeanwhile


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(name=st.text(max_size=50), text=st.text(max_size=200))
def test_any_unsaved_text_comes_back_as_it_was_typed(library: Library, name: str, text: str) -> None:
    kept = keep_draft(library, new_draft("outings", name, text))
    again = Library(library.folder, library.demo)
    assert draft_of(again, kept.id) == kept
    assert (kept.name, kept.text) == (name, text)
    remove_draft(library, kept.id)


def test_the_drafts_left_behind_are_listed_the_latest_first(library: Library) -> None:
    one = keep_draft(library, new_draft("outings", "One", "not TOML ["))
    two = keep_draft(library, new_draft("cases", "Two", ""))
    assert [draft.id for draft in drafts(library)] == [two.id, one.id]
    later = keep_draft(library, Draft(one.id, "outings", "One", "more"))
    assert [draft.text for draft in drafts(library)] == ["more", ""]
    assert later.saved_at is not None and one.saved_at is not None
    assert later.saved_at >= one.saved_at
    assert library.list_profiles("cases") == ()


def test_saving_removes_the_draft_and_a_refused_save_keeps_it(library: Library) -> None:
    draft = keep_draft(library, new_draft("cases", "Boat", 'name = "Boat"\n'))
    version = save_draft(library, draft)
    assert drafts(library) == ()
    editing = keep_draft(
        library, new_draft("cases", "Boat", 'name = "Boat"\nnote = "mine"\n', "boat", version)
    )
    library.save("cases", "boat", 'name = "Boat"\nnote = "theirs"\n', version)
    reloaded = draft_of(library, editing.id)
    assert reloaded == editing
    with pytest.raises(SavedMeanwhile):
        save_draft(library, reloaded)
    assert draft_of(library, editing.id) == editing


@pytest.mark.parametrize(
    "draft_id", ["", "../../etc/passwd", "a" * 31, "A" * 32, "a" * 32 + "\n", "\u0661" * 32]
)
def test_an_id_from_an_address_makes_no_path(library: Library, draft_id: str) -> None:
    with pytest.raises(InputRefused, match="hexadecimal"):
        draft_of(library, draft_id)
    with pytest.raises(InputRefused, match="hexadecimal"):
        keep_draft(library, Draft(draft_id, "cases", "Boat", "text"))


def test_a_damaged_draft_hides_none_of_the_others(library: Library) -> None:
    kept = keep_draft(library, new_draft("cases", "Boat", "text"))
    folder = library.folder / DRAFTS
    (folder / ("0" * 32 + ".json")).write_bytes(b'{"kind": "cases"')
    (folder / ("1" * 32 + ".json")).write_bytes(b"[]")
    (folder / ".new-halfway").write_bytes(b"{")
    assert drafts(library) == (kept,)
    assert draft_of(library, "2" * 32) is None


def test_what_is_too_long_or_of_no_kind_is_refused(library: Library) -> None:
    for draft in (new_draft("cases", "Boat", "x" * 2_000_001), new_draft("boats", "Boat", "x")):
        with pytest.raises(InputRefused):
            keep_draft(library, draft)
