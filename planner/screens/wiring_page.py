"""Page "From battery to load": every link of the chain, and what another cable or fuse would change."""

from __future__ import annotations

import streamlit as st

from planner.explain.shown_units import in_units
from planner.install.conductor import STANDARD_AWG, awg_name
from planner.install.overcurrent import STANDARD_FUSES_A
from planner.screens.choosing import choose
from planner.screens.fit_parts import (
    MARKS,
    figures_part,
    listed_part,
    problems_part,
    question_part,
    table_part,
)
from planner.screens.reading import Choices, Refused, kept, worked
from planner.screens.state import initial_state
from planner.screens.unit_choice import said, units_now
from planner.screens.wiring_view import AS_ENTERED, NO_FUSE, WiringView, wiring_view

TITLE = "From battery to load"
BOX_PX = 165
UNTOLD = "The outing says nothing of its cable. Enter its gauge or area, its length one way and its fuse."


def show() -> None:
    """The page from top to bottom. The verdict's place comes before the choices that lead to it."""
    initial_state()
    top = st.container()
    with st.container(border=True):
        asked = choose()
        gauge, fuse = _other_cable()
    with top:
        st.title(TITLE, anchor=False)
    if asked is None:
        with top:
            st.markdown("Upload your file below to get an answer.")
        return
    with top, st.spinner("Running the outing 500 times …"):
        before = _view(asked.choices, None, AS_ENTERED)
        view = before if (gauge, fuse) == (None, AS_ENTERED) else _view(asked.choices, gauge, fuse)
    for found in (before, view):
        if isinstance(found, Refused):
            with top:
                problems_part(found.problems)
            return
    assert not isinstance(before, Refused) and not isinstance(view, Refused)
    with top:
        _verdict(before, view, changed=view is not before)
    _chain(view)
    if view.ranked:
        st.header("Which link gives first", anchor=False)
        st.markdown("  \n".join(said(text) for text in view.ranked))
    for row in view.rows:
        question_part(row)
    if view.branches is not None:
        figures_part((view.branches,))
    _to_know(view)


def _to_know(view: WiringView) -> None:
    """What the cable and the bank ask to be looked at."""
    st.header("To know about the cable", anchor=False)
    listed_part(view.notes or (UNTOLD,))
    if not view.notes:
        st.markdown("Local code and a qualified person decide.")
    if view.bank_notes:
        st.header("To know about the bank", anchor=False)
        listed_part(view.bank_notes)


def _view(chosen: Choices, gauge: int | None, fuse: str) -> WiringView | Refused:
    return kept(
        f"wiring {gauge} {fuse}",
        chosen.digest,
        lambda: worked(chosen, lambda found: wiring_view(found, gauge, fuse)),
    )


def _other_cable() -> tuple[int | None, str]:
    """Another gauge and another fuse to try; None and AS_ENTERED for those of the outing."""
    left, right = st.columns(2)
    names = {AS_ENTERED: None} | {awg_name(number): number for number in STANDARD_AWG}
    with left:
        gauge = st.selectbox(
            "Try another cable",
            list(names),
            key="tried_gauge",
            persist_state="session",
            help="American wire gauge: the smaller the number, the thicker.",
            format_func=lambda name: in_units(name, units_now()),
        )
    fuses = [AS_ENTERED, NO_FUSE, *(f"{rating:g}" for rating in STANDARD_FUSES_A)]
    with right:
        fuse = st.selectbox("Try another fuse (A)", fuses, key="tried_fuse", persist_state="session")
    return names[gauge or AS_ENTERED], fuse or AS_ENTERED


def _verdict(before: WiringView, view: WiringView, changed: bool) -> None:
    changed_nothing = changed and before.entered is None
    name = view.wiring_verdict
    told = "Cable and fuse: not entered" if name is None else f"{MARKS[name]} Cable and fuse: {name}"
    st.header(told, anchor=False)
    st.markdown(f"The whole outing: {MARKS[view.verdict]} {view.verdict}.")
    if changed_nothing:
        st.markdown("The outing states no cable, so there is none to change: enter it first.")
    if view.change is not None:
        st.markdown(said(view.change))
    if changed and before.wiring_verdict is not None:
        st.markdown(
            f"As entered, with {said(before.entered or '')}: cable and fuse {before.wiring_verdict}, "
            f"the whole outing {before.verdict}."
        )


def _chain(view: WiringView) -> None:
    st.header("Link by link, when the voltage at the load is lowest", anchor=False)
    with st.container(horizontal=True):
        for number, link in enumerate(view.links, start=1):
            with st.container(border=True, width=BOX_PX):
                st.markdown(f"**{number} {link.name}**  \n{said(link.what)}")
    table_part("chain", view.table, "Volts, amps and temperature of each link from battery to load")
    st.caption(
        said(
            "Amps and volts of the middle run, and the battery inside at its hottest in it. The cable's temperature is "
            "what its copper settles at under its hardest minute, in the air the table is made for: 30 °C, or 50 °C in "
            "an engine space. At the contacts: the battery's terminals. The fuse's own loss is not known and left out."
        )
    )


show()
