"""The parts of the first screen, each drawn from a view."""

from __future__ import annotations

import datetime
import unicodedata
from collections.abc import Callable, Iterable
from functools import partial
from typing import TYPE_CHECKING

import streamlit as st

from planner.errors import Problem
from planner.explain.chart_files import chart_png, chart_svg
from planner.explain.chart_look import Columns, Figure, Spec
from planner.explain.check_words import CHECK_WORDS
from planner.explain.glossary import EVIDENCE, VERDICTS
from planner.explain.shown_units import figure_in_units, in_units, table_in_units
from planner.screens.fit_view import FitView, Row
from planner.screens.opening import opening
from planner.screens.plain_text import plain
from planner.screens.unit_choice import said, units_now
from planner.verdict.check import DOES_NOT_FIT, FITS, LIMITS, NOT_PROVEN
from planner.verdict.table_file import safe_text

if TYPE_CHECKING:
    import pandas as pd

UNKNOWN, LETTERS_PX, BORDERS_PX = "not known", 6.5, 24  # what stands for a missing number, and the room it takes [px]
# A square filled, half filled, empty, crossed: told apart by shape before colour; the word stands beside it always.
MARKS = {FITS: ":green[■]", LIMITS: ":blue[◧]", NOT_PROVEN: ":violet[□]", DOES_NOT_FIT: ":red[☒]"}


def verdict_part(view: FitView) -> None:
    """The verdict in words, for what and whom, and the runtime."""
    st.title(f"{MARKS[view.verdict]} {view.verdict.capitalize()}", anchor=False)
    st.markdown(f"**{said(view.headline)}** {said(view.runtime)}")
    deciding = [row for row in view.rows if row.id in view.decided_by]
    if view.verdict in (DOES_NOT_FIT, NOT_PROVEN):
        for row in deciding:
            st.markdown(f"**{row.title}:** {said(row.reason)}")
    for heading, told in (("What would help", view.cures), ("Keep to this", view.limits)):
        if told:
            st.header(heading, anchor=False)
            listed_part(told)


def reasons_part(view: FitView) -> None:
    """Three numbers, then every question with its verdict and reason, then what a test would settle."""
    st.header("Three numbers", anchor=False)
    for label, text in view.numbers:
        st.markdown(f"**{said(label)}.** {said(text)}")
    st.header("Question by question", anchor=False)
    for row in view.rows:
        question_part(row)
    st.header("Not tested", anchor=False)
    if view.untested():
        listed_part([f"{row.title}: {row.settled_by}" for row in view.untested()])
    else:
        st.markdown("No test is missing for the questions you asked.")


def question_part(row: Row) -> None:
    """One question: its verdict, how it is known, and why."""
    aside = "" if row.asked else ", not among your questions"
    st.markdown(
        f"**{row.title}** {MARKS[row.verdict]} {row.verdict} ({row.evidence}{aside})  \n{said(row.reason)}",
        help=f"{CHECK_WORDS[row.id].question}  \n{row.verdict.capitalize()}: {VERDICTS[row.verdict]}  \n"
        f"{row.evidence.capitalize()}: {EVIDENCE[row.evidence]}.",
    )


def figures_part(figures: tuple[Figure, ...], side_by_side: bool = False) -> None:
    """Every chart with its text alternative and, folded away, its numbers."""
    figures = tuple(figure_in_units(figure, units_now()) for figure in figures)
    places = st.columns(len(figures), gap="large") if side_by_side else [st.container()] * len(figures)
    for figure, place in zip(figures, places, strict=True):
        with place:
            st.vega_lite_chart(
                _packed(figure.made), width="stretch", alt=figure.alt, key=f"chart_{figure.key}"
            )
            st.caption(said(figure.legend))
            with opening(
                f"chart:{figure.key}", "Numbers and files of this chart", f"numbers_{figure.key}"
            ) as is_open:
                if is_open:
                    shown_table_part(figure.key, figure.table, figure.alt, height=240)
                    _pictures(figure)


def _packed(spec: Spec) -> Spec:
    """The specification with its data as Arrow streams, which the framework takes eight times as long to make."""
    return spec | {"datasets": {name: _stream(data) for name, data in spec["datasets"].items()}}


def _stream(data: Columns | list[Spec]) -> bytes:
    import pyarrow

    if isinstance(data, list):
        table = pyarrow.Table.from_pylist(data)
    else:
        columns = {name: pyarrow.array(column, from_pandas=True) for name, column in data.items()}
        table = pyarrow.table(columns)  # what is not a number is null
    sink = pyarrow.BufferOutputStream()
    with pyarrow.ipc.new_stream(sink, table.schema) as writer:
        writer.write_table(table)
    found: bytes = sink.getvalue().to_pybytes()
    return found


def _pictures(figure: Figure) -> None:
    """The chart as pictures, drawn at the click."""
    with st.container(horizontal=True):
        for ending, draw, mime in (("svg", chart_svg, "image/svg+xml"), ("png", chart_png, "image/png")):
            st.download_button(
                f"Download the chart ({ending.upper()})", partial(draw, figure), f"{figure.key}.{ending}", mime,
                on_click="ignore", key=f"{ending}_{figure.key}",
            )  # fmt: skip


def table_part(key: str, table: pd.DataFrame, alt: str, height: int | None = None) -> None:
    """A table of ours in the units chosen, and its download. alt : what it holds, in words."""
    shown_table_part(key, table_in_units(table, units_now()), in_units(alt, units_now()), height)


def shown_table_part(key: str, table: pd.DataFrame, alt: str, height: int | None = None) -> None:
    """A table as it is to be shown, and its download."""
    st.dataframe(
        table, hide_index=True, height="auto" if height is None else height, alt=alt, placeholder=UNKNOWN,
        column_config={name: st.column_config.Column(width=_room_px(name)) for name in _gappy(table)},
    )  # fmt: skip
    st.download_button(
        "Download them (CSV)", partial(_csv, table), file_name=f"{key}.csv", mime="text/csv", on_click="ignore",
        key=f"csv_{key}",
    )  # fmt: skip


def cautions_part(view: FitView) -> None:
    """Safety, in full, then what weakens the answer."""
    st.header("Before you use it", anchor=False)
    listed_part(view.cautions)
    st.header("What weakens this answer", anchor=False)
    listed_part(view.warnings)


def files_part(
    about: tuple[str, ...], as_text: Callable[[], str] | str, as_json: Callable[[], str] | str
) -> None:
    """An answer as text and as JSON, made at the click where a function is given.

    about : names of what it is about; the files are named after them and the day, and not as the sheet is.
    """
    name = "_".join(["answer", *map(file_name, about), datetime.date.today().isoformat()])
    with st.container(horizontal=True):
        st.download_button("Answer as text", as_text, f"{name}.txt", "text/plain", on_click="ignore")
        st.download_button("Answer as JSON", as_json, f"{name}.json", "application/json", on_click="ignore")


def problems_part(problems: tuple[Problem, ...], title: str | None = None) -> None:
    """Why there is no answer: every problem with its file, key, value, what is accepted and how to mend it.

    title : of a part of the page that was refused; None when the whole page has no answer.
    """
    if title is None:
        st.title("No answer yet", anchor=False)
    else:
        st.header(title, anchor=False)
    count = len(problems)
    st.markdown(f"{count} thing{'' if count == 1 else 's'} to mend first:")
    for problem in problems:
        with st.container(border=True):
            st.markdown(f"**{plain(problem.key)}** in {plain(problem.file)}")
            st.markdown(
                f"Found: {plain(problem.value)}  \nAccepted: {plain(problem.allowed)}  \nMend: {plain(problem.fix)}"
            )


def _gappy(table: pd.DataFrame) -> list[str]:
    """Columns of numbers with one missing: the framework gives them the width of the numbers and cuts the words off."""
    return [str(name) for name in table.select_dtypes("number") if table[name].isna().any()]


def _room_px(name: str) -> int:
    return round(LETTERS_PX * max(len(UNKNOWN), len(name)) + BORDERS_PX)


def _csv(table: pd.DataFrame) -> bytes:
    """A table of ours as a file. It may hold names of others, which no spreadsheet must take for a formula.

    The byte order mark tells a spreadsheet that the letters are UTF-8, as in the sheet's table.
    """
    safe = table.map(lambda cell: safe_text(cell) if isinstance(cell, str) else cell)
    return safe.to_csv(index=False, header=[safe_text(str(name)) for name in table.columns]).encode("utf-8-sig")


def listed_part(texts: Iterable[str]) -> None:
    """Texts as a list, each shown as it is; nothing when there is none."""
    st.markdown("\n".join(f"- {said(text)}" for text in texts))


def file_name(text: str) -> str:
    """A name made of letters, their marks and digits of any script, and dashes only; two of them fit a file's name."""
    kept = "".join(each if unicodedata.category(each)[0] in "LMN" else " " for each in text.lower())
    return "-".join(kept.split())[:40].encode()[:90].decode("utf-8", "ignore").strip("-") or "unnamed"
