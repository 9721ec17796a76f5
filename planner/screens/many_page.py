"""Page "Many at once": the answer over ranges of the files' numbers, and one battery for many buyers."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

import streamlit as st

from planner.errors import InputRefused
from planner.screens.answering import Asked
from planner.screens.choosing import choose
from planner.screens.enter_parts import CELL_PX, WIDE_PX
from planner.screens.fit_parts import listed_part, problems_part, shown_table_part, table_part
from planner.screens.given import Given, Upload, placed
from planner.screens.many_view import MOST_ROWS, ManyView, Tell, fleet_view, sweep_view
from planner.screens.ranges import Range, Varied, numbers_of
from planner.screens.reading import Choices, Refused, worked
from planner.screens.shelf import at_first, choosable
from planner.screens.state import CLIMATE, OUTING, initial_state, many_key
from planner.screens.unit_choice import said
from planner.toml_text import parse

TITLE = "Many at once"
FIRST_VARIED, FIRST_ENDS = "ambient", ("0 °C", "25 °C")
TABLE_MB, MOST_POINTS, MOST_RANGES = 2, MOST_ROWS, 3


def show() -> None:
    """The choices, then ranges of numbers, then many buyers."""
    initial_state()
    st.title(TITLE, anchor=False)
    with st.container(border=True):
        asked = choose()
    if asked is None:
        st.markdown("Upload your file above to get an answer.")
        return
    _sweep(asked)
    _fleet(asked)


def _sweep(asked: Asked) -> None:
    st.header("The answer over ranges of numbers", anchor=False)
    try:
        ranges = _ranges(asked)
    except InputRefused as refused:
        problems_part(refused.problems, "This could not be read")
        return
    points = st.number_input(
        "Points drawn over the ranges (0: every combination of their values)", 0, MOST_POINTS, 0,
        key="sweep_points", persist_state="session",
    )  # fmt: skip
    digest = _digest(Choices((asked.battery,), asked.outing, asked.climate).digest, repr(ranges), str(points))
    if st.button("Work out every row", key="do_sweep"):
        st.session_state[many_key("sweep")] = (
            digest,
            _with_bar(partial(sweep_view, asked, ranges, points or None)),
        )
    found = _last("sweep", digest)
    if isinstance(found, ManyView):
        st.markdown(f"**{said(found.finding)}.** Each row at the middle of all inputs.")
        shown_table_part("rows", found.table, "One row for each set of values")
        st.download_button("Rows as the command writes them (CSV)", found.csv_text, "sweep.csv", "text/csv",
                           on_click="ignore")  # fmt: skip


def _ranges(asked: Asked) -> tuple[Range, ...]:
    """The numbers to be varied, one below the other; each but the first may be left out, which ends them.

    Raises InputRefused where a file cannot be read at all.
    """
    left = numbers_of(OUTING, _values(asked.outing))
    if asked.climate is not None:
        left |= numbers_of(CLIMATE, _values(asked.climate))
    found: list[Range] = []
    while left and len(found) < MOST_RANGES:
        with st.container(border=True, horizontal=True, vertical_alignment="bottom"):
            one = _range(len(found) + 1, left)
        if one is None:
            break
        found.append(one)
        left = {key: varied for key, varied in left.items() if key != one.of.key}
    return tuple(found)


def _range(number: int, numbers: Mapping[str, Varied]) -> Range | None:
    keys = list(numbers)
    first = keys.index(FIRST_VARIED) if FIRST_VARIED in numbers else 0
    key = st.selectbox(
        "What varies" if number == 1 else "And with it", keys, first if number == 1 else None,
        key=f"sweep_key_{number}", persist_state="session", placeholder="nothing more",
        format_func=lambda each: f"{numbers[each].label}, now {numbers[each].present}", width=WIDE_PX,
        help=None if number > 1 else "Every number of the outing, and of the climate where one is chosen. The command "
        "sweep takes those of the battery's record too, and lists of values.",
    )  # fmt: skip
    if key is None or key not in numbers:
        return None
    ends = FIRST_ENDS if key == FIRST_VARIED else ("", "")
    typed = [
        st.text_input(
            head, end, key=f"sweep_{head}_{key}", persist_state="session", placeholder=numbers[key].present,
            width=CELL_PX,
        )
        for head, end in zip(("From", "To"), ends, strict=True)
    ]  # fmt: skip
    count = st.number_input(
        "Values", 1, MOST_POINTS, 6, key=f"sweep_count_{key}", persist_state="session", width=CELL_PX
    )
    return Range(numbers[key], typed[0], typed[1], count)


def _values(given: Given) -> dict[str, Any]:
    """What a file has, before any reader has judged it. Raises InputRefused."""
    with placed(given) as place:
        data = place.path.read_bytes() if place.text is None else place.text
        return parse(data, place.restored(str(place.path)))


def _fleet(asked: Asked) -> None:
    st.header("One battery for many buyers", anchor=False)
    outings = {key: entry for key, entry in choosable(OUTING).items() if entry.given.path is not None}
    chosen = st.multiselect(
        "Outings of the buyers", list(outings), default=at_first(outings), key="fleet_outings",
        persist_state="session", format_func=lambda key: outings[key].label,
    )  # fmt: skip
    file = st.file_uploader(
        "Or a table of buyers (CSV)", type=["csv"], key="fleet_table", max_upload_size=TABLE_MB,
        help="A column outing with the name of an outing in the library; perhaps buyer; and one for each key that is "
        "the buyer's own, headed as in load.1.current (A).",
    )  # fmt: skip
    table = None if file is None else Upload(file.name, file.getvalue())
    choices = Choices((asked.battery,), None, asked.climate)
    given = [outings[key].given.digest for key in (outings if table is not None else chosen)]
    text = "" if table is None else hashlib.sha256(table.data).hexdigest()
    digest = _digest(choices.digest, *given, text)
    if st.button("Answer every buyer", key="do_fleet", disabled=not chosen and table is None):
        paths = {key: entry.given.path for key, entry in outings.items() if entry.given.path is not None}
        labels = {key: entry.label for key, entry in outings.items()}
        st.session_state[many_key("fleet")] = (
            digest,
            _with_bar(
                lambda tell: worked(choices, lambda inputs: fleet_view(inputs, paths, chosen, table, tell, labels))
            ),
        )
    found = _last("fleet", digest)
    if isinstance(found, ManyView):
        st.markdown(f"**{said(found.finding)}.**")
        if found.reasons:
            st.markdown("What stands in the way; a buyer may have several reasons:")
            listed_part(found.reasons)
        table_part("buyers", found.table, "One row for each buyer")
        st.download_button("All columns (CSV)", found.csv_text, "fleet.csv", "text/csv", on_click="ignore")
        st.download_button(
            "Buyers as JSON", found.json_text or "", "fleet.json", "application/json", on_click="ignore"
        )


def _with_bar(work: Callable[[Tell], ManyView | Refused]) -> ManyView | Refused:
    """The work's answer, a bar moving meanwhile."""
    bar = st.progress(0.0, "Starting …")
    found: ManyView | Refused = work(
        lambda done, rows: bar.progress(done / max(rows, 1), f"{done:,} of {rows:,}")
    )
    bar.empty()
    return found


def _last(subject: str, digest: str) -> ManyView | None:
    """What was worked out of just these inputs; its problems are shown in its place."""
    kept = st.session_state[many_key(subject)]
    found = kept[1] if kept is not None and kept[0] == digest else None
    if isinstance(found, Refused):
        problems_part(found.problems, "This could not be worked out")
        return None
    return found


def _digest(*parts: str) -> str:
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


show()
