"""The units a session is shown: chosen on every page, kept in the address, used by all that a page says."""

from __future__ import annotations

from dataclasses import fields

import streamlit as st

from planner.explain.entry_names import entry_named
from planner.explain.shown_units import AS_MADE, CHOICES, CURRENCY, LONGEST_CURRENCY, US, ShownUnits, in_units
from planner.screens.plain_text import plain

ADDRESS = "units"
CURRENCY_ACCEPTED = "Accepted: letters alone, such as EUR, or one of € £ ¥ $."
SWITCH = "units_switch"  # key of the switch: open or not
LABELS = {
    "temperature": "Temperatures",
    "length": "Short lengths",
    "distance": "Distances and speeds",
    "mass": "Weights",
    "conductor": "Cables",
}


def units_now() -> ShownUnits:
    """What the session chose; as the answers are made where nothing was chosen."""
    found: ShownUnits = st.session_state.get("shown_units", AS_MADE)
    return found


def said(text: str) -> str:
    """A text of ours for st.markdown, in the units chosen and with the names of the pages."""
    return plain(in_units(entry_named(text), units_now()))


def start_units() -> dict[str, str | None]:
    """Take the choice from the address the first time; what is to stand there."""
    if "shown_units" not in st.session_state:
        st.session_state["shown_units"] = _from_address(st.query_params.get(ADDRESS, ""))
    return {ADDRESS: _to_address(units_now())}


def units_part() -> None:
    """The switch: all at once, or one by one. Nothing of it is made while it is closed."""
    box = st.popover("Units", key=SWITCH, on_change="rerun")
    if box.open:
        with box:
            _switch()


def _switch() -> None:
    with st.container(horizontal=True):
        st.button("Metric", on_click=_choose, args=(AS_MADE,), key="units_metric")
        st.button("US customary", on_click=_choose, args=(US,), key="units_us")
    now = units_now()
    for name, options in CHOICES.items():
        held = getattr(now, name)
        st.segmented_control(
            LABELS[name], options, default=held, key=f"units_{name}_{held}", required=True,
            on_change=_choose_one, args=(name, f"units_{name}_{held}"),
        )  # fmt: skip
    st.text_input(
        "Currency, where a record states none", value=now.currency, max_chars=LONGEST_CURRENCY,
        key="units_currency", on_change=_choose_one, args=("currency", "units_currency"),
    )  # fmt: skip
    typed = str(st.session_state["units_currency"] or "").strip()
    if typed and not CURRENCY.fullmatch(typed):
        st.markdown(f":red[▲] {plain(typed)}. {CURRENCY_ACCEPTED}")
    st.caption("Only what is shown changes; no number underneath does.")


def _choose(wanted: ShownUnits) -> None:
    now = units_now()
    st.session_state["shown_units"] = ShownUnits(
        wanted.temperature, wanted.length, wanted.distance, wanted.mass, wanted.conductor, now.currency
    )


def _choose_one(name: str, key: str) -> None:
    held = {each.name: getattr(units_now(), each.name) for each in fields(ShownUnits)}
    value = str(st.session_state[key] or "").strip()
    if name == "currency" and value and not CURRENCY.fullmatch(value):
        return  # the field holds it, and the switch tells what is accepted
    st.session_state["shown_units"] = ShownUnits(**(held | {name: value}))


def _to_address(shown: ShownUnits) -> str | None:
    if shown == AS_MADE:
        return None
    places = [str(options.index(getattr(shown, name))) for name, options in CHOICES.items()]
    return "".join(places) + shown.currency


def _from_address(text: str) -> ShownUnits:
    """The units an address names; it is foreign text, so anything else gives those of the answers."""
    digits, currency = text[: len(CHOICES)], text[len(CHOICES) :]
    if len(digits) < len(CHOICES) or not (digits.isascii() and digits.isdigit()):
        return AS_MADE
    if currency and not CURRENCY.fullmatch(currency):
        return AS_MADE
    chosen = {}
    for (name, options), digit in zip(CHOICES.items(), digits, strict=True):
        if int(digit) >= len(options):
            return AS_MADE
        chosen[name] = options[int(digit)]
    return ShownUnits(**chosen, currency=currency)
