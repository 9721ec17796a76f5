"""What a log's file leaves open, asked of the user: decimal comma, order of dates, sign, columns, interval."""

from __future__ import annotations

from dataclasses import dataclass

import streamlit as st

from planner.errors import InputRefused, Problem
from planner.log_file.stated import LogOptions
from planner.units import UnitError, to_si

ORDERS = {"year first, or plain": None, "day first": "day first", "month first": "month first"}
SIGNS = {"as its volts tell": None, "positive": "positive", "negative": "negative"}
QUANTITIES = {"time": "Time (s)", "voltage": "Pack [V]", "current": "I [A]", "temperature": "Probe [degC]"}


@dataclass(frozen=True, slots=True)
class LogSays:
    """The user's choices, as typed.

    columns : (quantity, heading). interval : of rows without a time. discharge : the sign of its current.
    """

    decimal_comma: bool = False
    date_order: str | None = None
    columns: tuple[tuple[str, str], ...] = ()
    interval: str = ""
    discharge: str | None = None

    def interval_s(self) -> float | None:
        """The interval [s], None when not given. Raises InputRefused."""
        if not self.interval:
            return None
        try:
            return to_si(self.interval, "duration")
        except UnitError as error:
            fix = "Write the time between two rows, such as 2 s."
            raise InputRefused([Problem("log", "interval", f'"{self.interval[:40]}"', str(error), fix)]) from error

    def options(self) -> LogOptions:
        """The same for a reader. Raises InputRefused."""
        return LogOptions(self.decimal_comma, dict(self.columns), self.date_order, self.interval_s(), self.discharge)


def says_part() -> LogSays:
    """The choices, those that few files need folded away."""
    left, middle, right = st.columns(3, vertical_alignment="bottom")
    with left:
        comma = st.checkbox("Numbers have a decimal comma", key="log_comma", persist_state="session")
    with middle:
        order = st.selectbox("Dates are written", list(ORDERS), key="log_dates", persist_state="session")
    with right:
        sign = st.selectbox("Discharge is written", list(SIGNS), key="log_sign", persist_state="session")
    with st.expander("Columns that the file does not name clearly"):
        st.markdown("Only where the page asks: the heading as the file has it, its unit in brackets behind it.")
        typed = {
            quantity: st.text_input(
                f"{quantity.capitalize()} column", key=f"log_column_{quantity}", placeholder=example, max_chars=200
            )
            for quantity, example in QUANTITIES.items()
        }
        interval = st.text_input(
            "Time between rows, for a log without a time", key="log_interval", placeholder="2 s", max_chars=40
        )
    columns = tuple((quantity, heading.strip()) for quantity, heading in typed.items() if heading and heading.strip())
    return LogSays(comma, ORDERS[order or next(iter(ORDERS))], columns, (interval or "").strip(),
                   SIGNS[sign or next(iter(SIGNS))])  # fmt: skip
