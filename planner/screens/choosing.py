"""The row of choices: battery, outing, climate; each a demo profile or the user's own file with its companions."""

from __future__ import annotations

from typing import Any

import streamlit as st

from planner.screens.answering import Asked
from planner.screens.given import COMPANION_ENDINGS, PROFILE_ENDINGS, Given, Upload
from planner.screens.keeping import keep_button
from planner.screens.plain_text import plain
from planner.screens.shelf import Choosable, choosable
from planner.screens.state import (
    BATTERY,
    CLIMATE,
    DRAFT,
    FIRST,
    NO_CLIMATE,
    OUTING,
    OWN,
    choice_key,
    chosen_key,
    upload_key,
    use_profile,
)

LABELS = {
    BATTERY: "Battery as tested",
    OUTING: "Outing as planned",
    CLIMATE: "Climate, for charging in the cold",
}
HELP = {
    BATTERY: "The bench record of one unit. Demo records are invented; no such battery exists.",
    OUTING: "What runs, how hard and for how long. Demo outings are invented.",
    CLIMATE: "Where the battery lives and how it is charged through the year. Leave it out if cold is no question.",
}
INSTEAD = {
    BATTERY: "a demo battery is shown",
    OUTING: "a demo outing is shown",
    CLIMATE: "charging in the cold is left out",
}
PROFILE_MB, COMPANION_MB = 2, 20  # a profile above 2 MB is refused by its reader as well


def choose() -> Asked | None:
    """The row of choices. None while an own file is wanted and not there yet."""
    found = choose_some((BATTERY, OUTING, CLIMATE))
    if found is None:
        return None
    battery, outing = found[BATTERY], found[OUTING]
    assert battery is not None and outing is not None
    return Asked(battery, outing, found[CLIMATE])


def asked_now() -> Asked | None:
    """What the choices of the session ask, before any page has drawn them. None while an own file is not there."""
    found: dict[str, Given | None] = {}
    for kind in (BATTERY, OUTING, CLIMATE):
        profiles = _there(kind)
        chosen = st.session_state[chosen_key(kind)]
        if chosen == OWN:
            found[kind] = st.session_state[upload_key(kind)]
        else:
            found[kind] = None if chosen == NO_CLIMATE else profiles[chosen].given
    battery, outing = found[BATTERY], found[OUTING]
    return None if battery is None or outing is None else Asked(battery, outing, found[CLIMATE])


def choose_some(kinds: tuple[str, ...]) -> dict[str, Given | None] | None:
    """The choices of these kinds side by side, the same on every page. None while an own file is not there yet.

    Battery and outing are always there in what is returned; the climate is None when it is left out.
    """
    found = {}
    for kind, place in zip(kinds, st.columns(len(kinds)), strict=True):
        with place:
            found[kind] = _one(kind)
    missing = [kind for kind in kinds if found[kind] is None and kind != CLIMATE]
    if CLIMATE in kinds and st.session_state[chosen_key(CLIMATE)] == OWN and found[CLIMATE] is None:
        missing.append(CLIMATE)
    return None if missing else found


def _there(kind: str) -> dict[str, Choosable]:
    """What can be chosen.

    A choice that is not there, put away since or from an address of another computer, gives way to the first one; a
    draft that another window saved gives way to what it was saved as.
    """
    chosen = st.session_state[chosen_key(kind)]
    profiles = choosable(kind, chosen)
    drafted = profiles[chosen].saved_as if chosen in profiles else None
    if drafted is not None:
        st.session_state[f"{kind}_drafted"] = (chosen, drafted)
    if chosen not in (*profiles, OWN, *((NO_CLIMATE,) if kind == CLIMATE else ())):
        saved = _saved_elsewhere(kind, chosen, profiles)
        use_profile(kind, FIRST[kind] if saved is None else saved.key)
        told = (chosen, None if saved is None else saved.label)
        st.session_state["not_there"] = {**st.session_state.get("not_there", {}), kind: told}
    return profiles


def _saved_elsewhere(kind: str, chosen: str, profiles: dict[str, Choosable]) -> Choosable | None:
    """What the draft of this window is now that it is gone; None where it was none, or was never saved."""
    was, saved_as = st.session_state.get(f"{kind}_drafted", (None, None))
    if was != chosen:
        return None
    own = [each for each in profiles.values() if not each.demo]
    return next((each for each in own if saved_as in (each.key, each.label)), None)


def not_there() -> None:
    """Tell, once, which choices gave way to another one."""
    for kind, (key, saved) in st.session_state.pop("not_there", {}).items():
        if saved is not None:
            st.warning(
                f"The {kind} that was being changed here was saved or thrown away in another window. “{plain(saved)}” "
                "is shown as the library has it: look for what you entered last, and enter it again if it is missing."
            )
            continue
        what = "an unsaved change of another window" if key.startswith(DRAFT) else f"“{plain(key)}”"
        st.warning(
            f"The {kind} asked for, {what}, is not in this library, so {INSTEAD[kind]}. Choose another one, or bring "
            "its file in on the library’s page."
        )


def _one(kind: str) -> Given | None:
    profiles = _there(kind)
    options = [*profiles, OWN] if kind != CLIMATE else [NO_CLIMATE, *profiles, OWN]
    chosen = st.session_state[chosen_key(kind)]
    st.selectbox(
        LABELS[kind], options, index=options.index(chosen), key=choice_key(kind), help=HELP[kind],
        format_func=lambda key: _label(key, profiles), on_change=_choose, args=(kind, choice_key(kind)),
    )  # fmt: skip
    if chosen == OWN:
        return _uploaded(kind)
    return None if chosen == NO_CLIMATE else profiles[chosen].given


def _choose(kind: str, key: str) -> None:
    """The user chose; a callback."""
    st.session_state[chosen_key(kind)] = st.session_state[key]


def _label(key: str, profiles: dict[str, Choosable]) -> str:
    if key == OWN:
        return "My own file …"
    if key == NO_CLIMATE:
        return "None: leave charging in the cold out"
    return profiles[key].label


def _uploaded(kind: str) -> Given | None:
    """The uploaders of one kind. What came last is kept, as an uploader forgets its files on a page change."""
    main = st.file_uploader(
        f"{kind.capitalize()} file (TOML)", type=list(PROFILE_ENDINGS), key=_main_key(kind),
        max_upload_size=PROFILE_MB, on_change=_remember, args=(kind,),
    )  # fmt: skip
    st.file_uploader(
        "Weather file it names" if kind == CLIMATE else "Files it names: logs, further units",
        type=list(COMPANION_ENDINGS), accept_multiple_files=True, key=_others_key(kind),
        max_upload_size=COMPANION_MB, on_change=_remember, args=(kind,),
    )  # fmt: skip
    kept: Given | None = st.session_state[upload_key(kind)]
    if main is None and kept is not None and kept.main is not None:
        st.caption(f"In use: {plain(kept.main.name)}")
    if kept is not None:
        keep_button(kind, kept)
    return kept


def _remember(kind: str) -> None:
    """Keep what the uploaders hold now; called when the user adds or removes a file."""
    main = st.session_state.get(_main_key(kind))
    others = st.session_state.get(_others_key(kind)) or []
    kept = (
        None
        if main is None
        else Given(main=_upload(main), companions=tuple(_upload(file) for file in others))
    )
    st.session_state[upload_key(kind)] = kept


def _upload(file: Any) -> Upload:
    return Upload(file.name, file.getvalue())


def _main_key(kind: str) -> str:
    return f"{kind}_main"


def _others_key(kind: str) -> str:
    return f"{kind}_others"
