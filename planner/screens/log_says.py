"""What a log's file leaves open, asked of the user: decimal comma, order of dates, sign, columns, interval."""

from __future__ import annotations

from dataclasses import dataclass, replace

import streamlit as st

from planner.errors import InputRefused, Problem
from planner.log_file.stated import LogOptions
from planner.units import UnitError, to_si

ORDERS = {"year first, or plain": None, "day first": "day first", "month first": "month first"}
BY_VOLTS, UNSTATED = "as its volts tell", "not stated"  # what nothing chosen means where volts are asked for, and not
SIGNS = {"unsaid": None, "positive": "positive", "negative": "negative"}
COLUMNS = "Columns that the file does not name clearly"
QUANTITIES = {"time": "Time (s)", "voltage": "Pack [V]", "current": "I [A]", "temperature": "Probe [degC]"}
# how a refusal of the readers begins to say what is to be stated -> the same on this page
PLACES = {
    "Say date_order = ": "Choose under “Dates are written”: ",
    "Say discharge = ": "Choose under “Discharge is written”: ",
    "Say decimal comma": "Tick “Numbers have a decimal comma”",
    **dict.fromkeys(
        ("Say which", "Give the unit with the heading", "Spell the heading",
         *(f"Give the {quantity} column" for quantity in QUANTITIES)),
        f"Name its column under “{COLUMNS}”, as the file heads it. {{}}",
    ),
}


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


def on_the_page(problems: tuple[Problem, ...]) -> tuple[Problem, ...]:
    """What a reader refused, with the place on the page where what it asks for is said."""
    return tuple(replace(each, fix=_placed(each.fix)) for each in problems)


def _placed(fix: str) -> str:
    begin = next((begin for begin in PLACES if fix.startswith(begin)), None)
    if begin is None:
        return fix
    there = PLACES[begin]
    return there.format(fix) if "{}" in there else there + fix.removeprefix(begin)


def says_part(unsaid_sign: str) -> LogSays:
    """The choices, those that few files need folded away. unsaid_sign : what it means when no sign is stated."""
    left, middle, right = st.columns(3, vertical_alignment="bottom")
    with left:
        comma = st.checkbox("Numbers have a decimal comma", key="log_comma", persist_state="session")
    with middle:
        order = st.selectbox("Dates are written", list(ORDERS), key="log_dates", persist_state="session")
    with right:
        sign = st.selectbox(
            "Discharge is written", list(SIGNS), key="log_sign", persist_state="session",
            format_func=lambda key: key if SIGNS[key] else unsaid_sign,
        )  # fmt: skip
    with st.expander(COLUMNS):
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
