"""The verdict on top of every page: what it is, what the last change did to it, and what is missing for it."""

from __future__ import annotations

from dataclasses import dataclass

import streamlit as st

from planner.explain.answer_text import APART, stands_apart
from planner.explain.change import State, change_sentence
from planner.explain.check_words import TITLES
from planner.screens.answering import Asked, answer
from planner.screens.choosing import asked_now, not_there
from planner.screens.fit_parts import MARKS
from planner.screens.fit_view import FitView
from planner.screens.look import BAR
from planner.screens.plain_text import plain
from planner.screens.reading import Refused
from planner.screens.state import (
    BATTERY,
    CLIMATE,
    NO_CLIMATE,
    OUTING,
    chosen_key,
    initial_state,
    remember_in_address,
)
from planner.screens.unit_choice import said, start_units, units_part
from planner.verdict.check import NOT_PROVEN

ENTER = "planner/screens/enter_page.py"
# question -> where what is missing for it is entered: kind, group of the editor, what the link says
PLACES = {
    "energy": (BATTERY, "capacity_test", "full discharges"),
    "reserve": (BATTERY, "capacity_test", "full discharges"),
    "peak_current": (BATTERY, "current_test", "currents held"),
    "terminal_heat": (BATTERY, "terminal_test", "terminal temperatures"),
    "inverter": (BATTERY, "step_test", "current steps"),
    "wiring": (OUTING, "wiring", "cable and fuse"),
    "winter_charging": (BATTERY, "cold_charge_test", "charging in the cold"),
    "bank": (BATTERY, "", "the unit"),
}
# the same where it is not a test of the question's own: by what is asked for
ELSEWHERE = {
    "buyer_log": (OUTING, "load", "what runs"),
    "enter_reserve": (OUTING, "get_home", "way home"),
    "enter_inverter": (OUTING, "load", "what runs"),
    "enter_bank": (OUTING, "bank", "several units"),
    "enter_climate": (CLIMATE, "", "the climate"),
    "state_charger": (CLIMATE, "charge", "charging"),
    "bank_hold": (BATTERY, "current_test", "currents held"),
    "prior_test step": (BATTERY, "step_test", "current steps"),
    "prior_test cold step": (BATTERY, "step_test", "current steps"),
    **{
        f"prior_test {test}": (BATTERY, "capacity_test", "full discharges")
        for test in ("rate", "pulses", "curve", "cold", "heat")
    },
}


@dataclass(frozen=True, slots=True)
class Gap:
    """One thing missing: what, which question it leaves open, and where it is entered."""

    what: str
    blocks: str
    kind: str
    group: str
    link: str


def verdict_bar() -> None:
    """The bar, and below it what is missing."""
    initial_state()
    units = start_units()
    asked = asked_now()
    remember_in_address(units)
    bar, below = st.container(key=BAR, gap=None), st.container(horizontal=True)  # both hold their place when empty
    with bar:
        found = _told(asked)
        not_there()
    with below:
        units_part()
        if found is not None:
            _missing(gaps(found, st.session_state[chosen_key(CLIMATE)] != NO_CLIMATE))


def _told(asked: Asked | None) -> FitView | None:
    """The verdict and what the last change did to it; None where there is no answer, which is then said."""
    if asked is None:
        st.markdown("**No answer yet**: an own file is chosen and not uploaded.")
        return None
    with st.spinner("Running the outing 500 times …"):
        found = answer(asked)
    if isinstance(found, Refused):
        _refused(found)
        return None
    _verdict(found)
    _beside(found)
    _changed(asked.digest, found.state())
    return found


def _verdict(found: FitView) -> None:
    st.markdown(
        f"**{MARKS[found.verdict]} {found.verdict.capitalize()}** · {plain(found.battery)} on {plain(found.outing)}: "
        f"{said(found.runtime)}"
    )


def _beside(found: FitView) -> None:
    """What the verdict above is not about and a page below answers: the year, and whatever would make it worse."""
    for row in found.rows:
        if not row.asked and stands_apart(row.id, row.verdict, found.verdict):
            what = f"**{APART.get(row.id, row.title)}**: {MARKS[row.verdict]} {row.verdict}"
            st.markdown(f"{what}. Another question: this outing does not ask it, so it is not in the verdict above.")


def _refused(found: Refused) -> None:
    count = len(found.problems)
    files = ", ".join(sorted({problem.file for problem in found.problems}))
    st.markdown(f"**No answer yet** · {count} thing{'' if count == 1 else 's'} to mend in {plain(files)}")


def _changed(digest: str, now: State) -> None:
    """One line on what differs from the answer before, for as long as this answer stands."""
    held = st.session_state.get("answers")
    if held is None:
        st.session_state["answers"] = (digest, now, None)
        return
    last_digest, last, text = held
    if last_digest != digest:
        text = change_sentence(last, now)
        st.session_state["answers"] = (digest, now, text)
    if text is not None:
        st.caption(f"Since the last change: {said(text)}")


def gaps(found: FitView, has_climate: bool) -> tuple[Gap, ...]:
    """What is missing: tests that would settle a question, and questions nothing was entered for."""
    there = {row.id for row in found.rows}
    missing = [
        Gap(row.settled_by or "", f"{row.title}: {row.verdict}", *ELSEWHERE.get(row.asks_for or "", PLACES[row.id]))
        for row in found.rows
        if row.asked and row.settled_by is not None and row.verdict == NOT_PROVEN
    ]
    if "wiring" not in there:
        missing.append(
            Gap(
                "No cable is entered.",
                f"{TITLES['wiring']}: not answered",
                OUTING,
                "wiring",
                "cable and fuse",
            )
        )
    if "reserve" not in there:
        missing.append(
            Gap(
                "No way home and no reserve.",
                f"{TITLES['reserve']}: not answered",
                OUTING,
                "get_home",
                "way home",
            )
        )
    if not has_climate:
        what = "No climate is chosen."
        missing.append(Gap(what, f"{TITLES['winter_charging']}: not answered", CLIMATE, "", "the climate"))
    return tuple(missing)


def _missing(found: tuple[Gap, ...]) -> None:
    if not found:
        return
    open_ = list(dict.fromkeys(gap.blocks.split(":")[0] for gap in found))
    with st.expander(f"Missing for a full answer ({len(found)}): {', '.join(open_)}", key="missing"):
        for gap in found:
            st.markdown(f"**{plain(gap.blocks)}.** {said(gap.what)}")
            st.page_link(
                ENTER,
                label=f"Enter it: {gap.link}",
                query_params={"kind": gap.kind, "at": gap.group or "top"},
            )
