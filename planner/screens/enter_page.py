"""Page "Enter and change": the need, a battery's record or a climate, with the verdict answering to every change."""

from __future__ import annotations

import streamlit as st

from planner.errors import InputRefused
from planner.library.checking import Checked, check_text
from planner.library.companions import list_companions
from planner.library.entries import COMPANION_KINDS
from planner.library.parcel import copy_to_edit
from planner.library.place import DEMO
from planner.library.store import Library, SavedMeanwhile, open_library
from planner.library.templates import TEMPLATES
from planner.screens import form_climate, form_outing, form_record
from planner.screens.choosing import choose_some
from planner.screens.editing import (
    Subject,
    begin,
    can_undo,
    change,
    changed_elsewhere,
    form_id,
    save,
    save_as,
    save_over,
    subject,
    throw_away,
    trouble,
    undo,
)
from planner.screens.enter_parts import Sheet, group_part
from planner.screens.fit_parts import listed_part, problems_part
from planner.screens.opening import opening
from planner.screens.plain_text import plain
from planner.screens.shelf import FOLDERS
from planner.screens.state import BATTERY, CLIMATE, OUTING, initial_state, told, use_profile
from planner.toml_text import parse

TITLE = "Enter and change"
FORMS = {OUTING: form_outing.FORM, BATTERY: form_record.FORM, CLIMATE: form_climate.FORM}
NAMES = {OUTING: "The need", BATTERY: "The battery’s record", CLIMATE: "The climate"}


def show() -> None:
    """What is edited at the top, then its fields, then its text."""
    initial_state()
    st.title(TITLE, anchor=False)
    kind = _kind()
    try:
        library = open_library()
        told()
        with st.container(border=True):
            choose_some((kind,))
            _begin(library, kind)
        found = subject(library, kind)
        if found is None:
            st.markdown(
                "Choose what to change above, or begin anew. An own file is brought in on the library’s page."
            )
            return
        _editor(library, found)
    except InputRefused as refused:
        problems_part(refused.problems, title="The library cannot be used")


def _kind() -> str:
    """Which of the three, from the address where a link led here."""
    asked = st.query_params.get("kind")
    if asked in FORMS and st.session_state.get("entered_from") != asked:
        st.session_state["entered"] = st.session_state["entered_from"] = asked
    st.session_state.setdefault("entered", OUTING)
    found = st.segmented_control(
        "What to enter",
        list(FORMS),
        key="entered",
        format_func=NAMES.__getitem__,
        persist_state="session",
        label_visibility="collapsed",
        required=True,
    )
    st.query_params["kind"] = found or OUTING
    st.session_state["entered_from"] = found or OUTING
    return found or OUTING


def _at() -> str | None:
    """The group a link led to."""
    asked = st.query_params.get("at")
    return None if asked is None else "" if asked == "top" else asked


def _begin(library: Library, kind: str) -> None:
    texts = TEMPLATES[FOLDERS[kind]]
    with st.container(horizontal=True, vertical_alignment="bottom"):
        name = st.selectbox("Or begin anew, from", list(texts), key=f"template_{kind}", width=260)
        if st.button("Begin", key=f"begin_{kind}") and name is not None:
            begin(library, kind, texts[name], _title(texts[name]))
            st.rerun()


def _title(text: str) -> str:
    return str(parse(text.encode(), "template").get("name", "New"))


def _editor(library: Library, found: Subject) -> None:
    kind = found.kind
    form = form_id(found)
    root = DEMO if found.read_only else library.folder
    checked = check_text(FOLDERS[kind], found.text, root, f"{found.name}.toml")
    if found.read_only:
        _make_mine(library, found)
    else:
        _saving(library, found, checked)
    if trouble(kind):
        problems_part(trouble(kind), title="That change could not be made")
    try:
        values = parse(found.text.encode("utf-8", "replace"), found.name)
    except InputRefused as refused:
        problems_part(refused.problems, title="The text below is no TOML yet")
        _text(found, form)
        return
    sheet = Sheet(kind, form, values, checked.problems, _files(library), found.read_only, FORMS[kind], _at())
    for group in FORMS[kind]:
        group_part(sheet, group)
    _unplaced(kind, checked)
    if checked.warnings:
        with st.expander(f"Assumed, as it is not stated ({len(checked.warnings)})"):
            listed_part(checked.warnings)
    _text(found, form)


def _make_mine(library: Library, found: Subject) -> None:
    """Demo data are read only: a copy is the user's own."""
    entry = found.entry
    assert entry is not None
    with (
        st.form(f"mine_{entry.key}", border=False),
        st.container(horizontal=True, vertical_alignment="bottom"),
    ):
        st.markdown("Demo data cannot be changed; a copy can.")
        name = st.text_input("Name of your copy", value=f"{found.name[:180]} (copy)", max_chars=200)
        if not st.form_submit_button("Copy it to change it", type="primary"):
            return
    try:
        key = copy_to_edit(library, entry.kind, entry.key, name.strip())
    except InputRefused as refused:
        problems_part(refused.problems, title="Not copied")
        return
    use_profile(found.kind, key)
    st.rerun()


def _saving(library: Library, found: Subject, checked: Checked) -> None:
    count = len(checked.problems)
    state = (
        "All of it can be read."
        if not count
        else f"{count} thing{'' if count == 1 else 's'} to mend, marked ▲ below."
    )
    kept = "Saved." if found.draft is None else "Not saved yet; kept as a draft at every change."
    moved = " Changed in another window too: this is how it stands now." if changed_elsewhere(found.kind) else ""
    with st.container(horizontal=True, vertical_alignment="center"):
        st.markdown(f"{kept} {state}{moved}")
        st.button(
            "Undo",
            key=f"undo_{found.kind}",
            on_click=undo,
            args=(found.kind,),
            disabled=not can_undo(found.kind),
        )
        wanted = st.button("Save", key=f"save_{found.kind}", type="primary", disabled=found.draft is None)
        dropped = st.button("Throw the draft away", key=f"drop_{found.kind}", disabled=found.draft is None)
    if dropped:
        throw_away(library, found)
        st.rerun()
    if wanted or (found.draft is not None and _shown_both(found.kind) == (found.draft.id, found.text)):
        _save(library, found)


def _shown_both(kind: str) -> tuple[str, str] | None:
    """The draft and its text whose save was refused and is shown beside the newer version; None when nothing is.

    With another text or another draft the question is no longer open: it is saved when Save is pressed again.
    """
    found: tuple[str, str] | None = st.session_state.get(f"meanwhile_{kind}")
    return found


def _save(library: Library, found: Subject) -> None:
    if found.draft is None:
        return
    try:
        save(library, found)
    except SavedMeanwhile as meanwhile:
        st.session_state[f"meanwhile_{found.kind}"] = (found.draft.id, found.text)
        _both(library, found, meanwhile)
        return
    except InputRefused as refused:
        problems_part(refused.problems, title="Not saved")
        return
    st.session_state[f"meanwhile_{found.kind}"] = None
    st.rerun()


def _both(library: Library, found: Subject, meanwhile: SavedMeanwhile) -> None:
    """Somebody saved a newer version meanwhile: both are shown, and nothing is lost whatever is chosen."""
    st.header("Not saved: the library holds another version", anchor=False)
    for problem in meanwhile.problems:
        st.markdown(plain(f"{problem.value}. {problem.fix}"))
    theirs, mine = st.columns(2)
    with theirs:
        st.markdown("**In the library**")
        st.code(meanwhile.theirs, language="toml", height=300)
    with mine:
        st.markdown("**Yours, not saved**")
        st.code(meanwhile.mine, language="toml", height=300)
    with st.expander("Only the lines that differ"):
        st.code("\n".join(meanwhile.difference), language="diff")
    name = st.text_input("Another name", value=f"{found.name[:180]} (mine)", key=f"other_name_{found.kind}")
    with st.container(horizontal=True):
        over = st.button("Save mine over it (theirs stays among the versions)", key=f"over_{found.kind}")
        other = st.button("Save mine under the other name", key=f"other_{found.kind}")
        drop = st.button("Keep theirs, throw mine away", key=f"theirs_{found.kind}")
    if not (over or other or drop):
        return
    try:
        if over:
            save_over(library, found, meanwhile)
        elif other:
            save_as(library, found, name.strip())
        else:
            throw_away(library, found)
    except InputRefused as refused:
        problems_part(refused.problems, title="Not saved")
        return
    st.session_state[f"meanwhile_{found.kind}"] = None
    st.rerun()


def _files(library: Library) -> dict[str, tuple[str, ...]]:
    """What a file field may name: the library's logs, weather files and records."""
    found = {
        kind: tuple(f"../{kind}/{path.name}" for path in list_companions(library, kind))
        for kind in COMPANION_KINDS
    }
    own = [entry for entry in library.list_profiles("batteries") if not entry.read_only]
    return found | {"batteries": tuple(f"../batteries/{entry.path.name}" for entry in own)}


def _unplaced(kind: str, checked: Checked) -> None:
    """Problems of keys that no field stands for."""
    known = {group.key for group in FORMS[kind]}
    for group in FORMS[kind]:
        if not group.key:
            known |= {field.key for field in group.fields} | {grid.key for grid in group.grids}
    left = tuple(each for each in checked.problems if each.key.split(".")[0] not in known)
    if left:
        problems_part(left, title="In the text below")


def _text(found: Subject, form: str) -> None:
    """The file itself, to read, to edit and to take along; comments stay whatever the fields change."""
    key = f"{form}:text"
    with opening(f"{found.kind}:text", "The file’s own text (TOML)", f"{key}:box") as is_open:
        if not is_open:
            return
        # the text changes with every field, so the box is another one each time
        st.text_area(
            "Text",
            found.text,
            key=f"{key}:{hash(found.text)}",
            height=420,
            disabled=found.read_only,
            on_change=_typed_text,
            args=(found.kind, f"{key}:{hash(found.text)}"),
        )
        st.download_button(
            "Download it",
            found.text,
            f"{FOLDERS[found.kind]}.toml",
            "application/toml",
            on_click="ignore",
            key=f"{key}:download",
        )


def _typed_text(kind: str, key: str) -> None:
    text = str(st.session_state[key])
    change(kind, lambda _: text, True)


show()
