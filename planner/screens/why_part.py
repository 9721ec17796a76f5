"""From measurement to verdict: each number of a question with a link to where it comes from, and the words used."""

from __future__ import annotations

from dataclasses import dataclass

import streamlit as st

from planner.explain.answer_text import is_asked
from planner.explain.check_words import TITLES
from planner.explain.entry_names import ENTRY_NAMES, entry_named
from planner.explain.glossary import EVIDENCE, TERMS, VERDICTS
from planner.explain.reasoning import Step, chains, numbers_text, step_text
from planner.screens.opening import opening
from planner.screens.plain_text import plain
from planner.screens.state import BATTERY, CLIMATE, OUTING
from planner.screens.unit_choice import said
from planner.verdict.assess import Assessment

ENTER = "planner/screens/enter_page.py"
# which editor holds a table of a file
EDITORS = {
    "capacity_test": BATTERY,
    "current_test": BATTERY,
    "step_test": BATTERY,
    "terminal_test": BATTERY,
    "cold_charge_test": BATTERY,
    "charge_test": BATTERY,
    "load": OUTING,
    "get_home": OUTING,
    "wiring": OUTING,
    "bank": OUTING,
    "reserve": OUTING,
    "climate": CLIMATE,
}
AT_THE_TOP = ("reserve", "climate")


@dataclass(frozen=True, slots=True)
class Origin:
    """A place in a file as a link: which editor, which group of it."""

    label: str
    kind: str
    group: str


@dataclass(frozen=True, slots=True)
class Line:
    """One step of a chain: what it is, its numbers, where they come from."""

    what: str
    text: str
    origins: tuple[Origin, ...]


@dataclass(frozen=True, slots=True)
class Why:
    """One question's steps, measurement first, and what they end in."""

    title: str
    lines: tuple[Line, ...]
    end: str


def whys(assessment: Assessment) -> tuple[Why, ...]:
    """The chains of the questions that were asked."""
    return tuple(
        Why(
            TITLES[chain.check.id],
            tuple(_line(step) for step in chain.steps),
            f"{chain.check.verdict} ({chain.check.evidence})",
        )
        for chain in chains(assessment)
        if is_asked(assessment, chain.check)
    )


def origins(text: str) -> tuple[Origin, ...]:
    """The places that an origin names, each once; none where it is a rule."""
    found = {}
    for word in text.replace(" to ", ", ").split(", "):
        table, _, number = word.partition(".")
        if table in EDITORS:
            kind, name = EDITORS[table], ENTRY_NAMES[table]
            label = f"{name} {number}" if kind == BATTERY and number else name
            found[label] = Origin(label, kind, "top" if table in AT_THE_TOP else table)
    return tuple(found.values())


def _line(step: Step) -> Line:
    """Its numbers; where they come from is told by the links, and by words where it is a rule."""
    links = origins(step.origin)
    return Line(step.what, numbers_text(step) if links else entry_named(step_text(step)), links)


def why_part(found: tuple[Why, ...]) -> None:
    """Folded away: every question's chain, and the words the answer uses."""
    with opening("why", "Why: from measurement to verdict", "why") as is_open:
        if is_open:
            for why in found:
                _chain(why)
    with opening("words", "Words used here", "words") as is_open:
        if is_open:
            for heading, words in (("Verdicts", VERDICTS), ("How it is known", EVIDENCE), ("Terms", TERMS)):
                st.markdown(f"**{heading}**")
                st.markdown("\n".join(f"- **{plain(word)}**: {plain(told)}" for word, told in words.items()))


def _chain(why: Why) -> None:
    st.markdown(f"**{why.title}**")
    for line in why.lines:
        with st.container(horizontal=True, vertical_alignment="center", gap="small"):
            st.markdown(f"{line.what.capitalize()}: {said(line.text)}", width="content")
            for origin in line.origins:
                query = {"kind": origin.kind, "at": origin.group}
                st.page_link(ENTER, label=f"from: {origin.label}", query_params=query, width="content")
    st.markdown(f"So: **{why.end}**")
