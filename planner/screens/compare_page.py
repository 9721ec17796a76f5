"""Page "Which battery": several batteries on one outing; how much more it takes; which test to run next."""

from __future__ import annotations

import json
from typing import Any

import pandas as pd
import streamlit as st

from planner.explain.limits_answer import NAMES, limit_shown
from planner.explain.next_test_answer import test_name
from planner.explain.next_test_sentences import CHECK_NAMES
from planner.screens.choosing import choose
from planner.screens.compare_view import (
    CompareView,
    across_view,
    compare_view,
    limits_view,
    next_test_view,
    pairs_view,
)
from planner.screens.fit_parts import figures_part, listed_part, problems_part, table_part
from planner.screens.given import Given
from planner.screens.on_demand import wanted
from planner.screens.reading import Choices, Refused, kept, worked
from planner.screens.shelf import at_first, choosable
from planner.screens.state import BATTERY, OUTING, chosen_key, initial_state
from planner.screens.unit_choice import said

TITLE = "Which battery"
MOST_AT_FIRST = 8  # batteries; one takes about a second
# columns of the comparison that stand in a table of their own: one of all would be cut off at the edge of the page
SIZE_AND_PRICE = (
    "Measured (Ah)", "Measured (Wh)", "Weight (kg)", "Price", "Currency", "Price per measured Wh",
    "Price per Wh this outing gets",
)  # fmt: skip


def show() -> None:
    """The page from top to bottom. The answer's place comes before the choices that lead to it."""
    initial_state()
    top = st.container()
    with st.container(border=True):
        asked = choose()
        others = _others()
    with top:
        st.title(TITLE, anchor=False)
        if asked is None:
            st.markdown("Upload your file below to get an answer.")
            return
        several = Choices((asked.battery, *others), asked.outing, asked.climate)
        with st.spinner("Running the outing 500 times for each battery …"):
            found = kept("compare", several.digest, lambda: worked(several, compare_view))
        if isinstance(found, Refused):
            problems_part(found.problems)
            return
        st.header(said(found.finding), anchor=False)
    _comparison(found)
    _across(several)
    _pairs(several)
    _limits(asked.choices)
    _next_test(asked.choices)


def _others() -> list[Given]:
    """The batteries to compare with, beside the one that is chosen."""
    entries = choosable(BATTERY)
    keys = st.multiselect(
        "Compare it with",
        list(entries),
        default=at_first(entries)[:MOST_AT_FIRST],
        key="compared",
        persist_state="session",
        help=f"At first up to {MOST_AT_FIRST} of your own, or the demo units while there are none of yours.",
        format_func=lambda key: entries[key].label,
    )
    return [entries[key].given for key in keys if key != st.session_state[chosen_key(BATTERY)]]


def _comparison(found: CompareView) -> None:
    figures_part((found.figure,))
    table = found.figure.table.dropna(axis="columns", how="all")  # what was not asked, as cold without a climate
    apart = [name for name in SIZE_AND_PRICE if name in table]
    table_part("comparison", table.drop(columns=apart), "How each battery does on this outing")
    table_part("size_and_price", table[["Battery", *apart]], "What each battery holds, weighs and costs")
    with st.expander("What weakens this comparison"):
        listed_part(found.warnings)
    st.download_button(
        "Comparison as JSON", found.json_text, "comparison.json", "application/json", on_click="ignore"
    )


def _across(several: Choices) -> None:
    st.header("The same batteries on several outings", anchor=False)
    entries = choosable(OUTING)
    others = [key for key in entries if key != st.session_state[chosen_key(OUTING)]]
    keys = st.multiselect(
        "And on these outings", others, key="outings_across", persist_state="session",
        format_func=lambda key: entries[key].label,
    )  # fmt: skip
    if not keys:
        st.markdown("Choose further outings to see which battery serves all of them.")
        return
    more = [Choices((), entries[key].given) for key in keys]
    with st.spinner("Running each battery on each outing …"):
        read = [worked(one, lambda inputs: inputs) for one in more]
        refused = [one for one in read if isinstance(one, Refused)]
        if refused:
            problems_part(
                tuple(problem for one in refused for problem in one.problems), "An outing was refused"
            )
            return
        inputs = [one for one in read if not isinstance(one, Refused)]
        digest = " ".join(one.digest for one in (several, *more))
        found = kept("across", digest, lambda: worked(several, lambda first: across_view(first, inputs)))
    if isinstance(found, Refused):
        problems_part(found.problems, "This could not be worked out")
        return
    st.markdown(f"**{said(found.finding)}**")
    listed_part(found.beaten)
    figures_part((found.figure,))
    table_part("each_outing", found.figure.table, found.figure.alt)
    st.download_button(
        "All of them as JSON", found.json_text, "across.json", "application/json", on_click="ignore"
    )


def _pairs(several: Choices) -> None:
    st.header("One, two in parallel, or a larger one", anchor=False)
    if not wanted("pairs", "Try each battery as a pair (some seconds)", several.digest):
        return
    with st.spinner("Running each battery alone and as a pair …"):
        found = kept("pairs", several.digest, lambda: worked(several, pairs_view))
    if isinstance(found, Refused):
        problems_part(found.problems)
        return
    if found.table.empty:
        st.markdown("The outing has a bank of its own: it is judged as it stands.")
        return
    table_part("pairs", found.table, "Each battery alone and as two in parallel, best first")
    st.markdown("**Before you connect two**")
    listed_part(found.cautions)
    st.download_button("Pairs as JSON", found.json_text, "pairs.json", "application/json", on_click="ignore")


def _limits(chosen: Choices) -> None:
    st.header("How much more the chosen battery takes", anchor=False)
    if not wanted("limits", "Find the limits (some ten seconds)", chosen.digest):
        return
    with st.spinner("Finding the limits …"):
        found = kept("limits", chosen.digest, lambda: worked(chosen, limits_view))
    if isinstance(found, Refused):
        problems_part(found.problems)
        return
    rows = found["limits"]
    listed_part([f"{NAMES[row['id']]}: {row['reason']}" for row in rows])
    table_part("limits", _limit_table(rows), "The limit of each input")
    st.download_button(
        "Limits as JSON", json.dumps(found, indent=2), "limits.json", "application/json", on_click="ignore"
    )


def _limit_table(rows: list[dict[str, Any]]) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "Limit": [NAMES[row["id"]] for row in rows],
            "Value": [_limit_value(row["value"], row["unit"]) for row in rows],
            "In nine of ten": [_limit_value(row["sure_value"], row["unit"]) for row in rows],
            "Then decides": [CHECK_NAMES.get(row["check"] or "", "") for row in rows],
            "Then decides, in nine of ten": [CHECK_NAMES.get(row["sure_check"] or "", "") for row in rows],
        }
    )


def _limit_value(value: Any, unit: str) -> str:
    return "none" if value is None else limit_shown(value, unit)


def _next_test(chosen: Choices) -> None:
    st.header("Which test to run next on the chosen battery", anchor=False)
    if not wanted("next_test", "Find the next test (some seconds)", chosen.digest):
        return
    with st.spinner("Trying each test as if it had passed …"):
        found = kept("next test", chosen.digest, lambda: worked(chosen, next_test_view))
    if isinstance(found, Refused):
        problems_part(found.problems)
        return
    listed_part(
        [
            f"{test_name(test['id'])}: {test['reason']} About {test['bench_minutes']} minutes of bench time, "
            f"risk to the unit {test['risk']}. {test['firm_verdict']['told']}"
            for test in found["tests"]
        ]
        or ["No test would change the answer."]
    )
    with st.expander("Pointless here"):
        listed_part([f"{test_name(one['id'])}: {one['reason']}" for one in found["pointless"]])
    st.download_button(
        "Next tests as JSON",
        json.dumps(found, indent=2),
        "next-tests.json",
        "application/json",
        on_click="ignore",
    )


show()
