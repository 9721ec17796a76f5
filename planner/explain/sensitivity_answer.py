"""Which input moves the answer: `sensitivity_json` as an object, `sensitivity_text` in words."""

from __future__ import annotations

import math
from typing import Any

from planner.constants import SECONDS_PER_HOUR, ZERO_CELSIUS_K
from planner.explain.answer_text import headline
from planner.explain.energy_sentences import parameter
from planner.explain.layout import Page
from planner.explain.warnings import warnings
from planner.explain.words import capital
from planner.verdict.sensitivity import Sensitivity, Swing
from planner.verdict.uncertain_inputs import GIVEN, LOAD, Input

SMALL_H = 0.01  # less than this is told as nothing
_NAMES = {
    "cold_loss_below": "how much charge is lost colder than any test",
    "unit_charge": "how much more or less charge your unit holds than the one we tested",
    "unit_resistance": "how much more or less resistance your unit has than the one we tested",
    "temperature": "the temperature of air and battery",
    "contact": "the resistance of the joints in the cable",
    "start": "how full the battery is at the start",
}
_SHORT = {
    "unit_charge": "Charge, unit to unit",
    "unit_resistance": "Resistance, unit to unit",
    "temperature": "Temperature",
    "contact": "Joints in the cable",
    "start": "Charge at the start",
}
# factor and unit for reading
_SHOWN = {
    "K": (1.0, "°C"),
    "ohm": (1e3, "milliohms"),
    "1 of full": (100.0, "% of full"),
    "J/mol": (1e-3, "kJ/mol"),
    "1/K": (100.0, "% a kelvin"),
    "V": (1e3, "mV"),
}


def sensitivity_json(found: Sensitivity) -> dict[str, Any]:
    """Everything `sensitivity --json` prints."""
    base, most = found.base, found.most
    return {
        "verdict": base.verdict,
        "verdict_at_centre": found.centre_verdict,
        "battery": base.record.name,
        "outing": base.outing.name,
        "seed": base.seed,
        "draws": base.draws,
        "most": most.input.id if most else None,
        "sentence": sentence_of_most(found),
        "inputs": [_row(found, one) for one in found.swings],
        "warnings": list(warnings(base)),
    }


def _row(found: Sensitivity, one: Swing) -> dict[str, Any]:
    taken, (low, high) = one.input, one.runtime_s
    verdicts = one.verdicts or (None, None)
    return {
        "id": taken.id,
        "name": in_words(taken),
        "kind": taken.kind,
        "evidence": taken.evidence,
        "low": _value(taken, taken.low),
        "high": _value(taken, taken.high),
        "unit": "degC" if taken.unit == "K" else taken.unit,
        "runtime_low_h": _hours(low),
        "runtime_high_h": _hours(high),
        "swing_h": _hours(one.swing_s),
        "verdict_low": verdicts[0],
        "verdict_high": verdicts[1],
        "moves_verdict": None if one.verdicts is None else found.moves(one),
        "variance_share": one.share,
    }


def in_words(taken: Input) -> str:
    """An input as it stands in a sentence."""
    if taken.kind == LOAD:
        return f"how much {taken.name} really draws"
    return _NAMES[taken.id] if taken.id in _NAMES else parameter(taken.id)


def in_short(taken: Input) -> str:
    """An input as the label of a bar."""
    if taken.kind == LOAD:
        return str(taken.name)
    return _SHORT[taken.id] if taken.id in _SHORT else capital(parameter(taken.id))


def sentence_of_most(found: Sensitivity) -> str:
    """The assumption that matters most, and what it does."""
    most = found.most
    if most is None:
        return "No assumption moves the time it lasts by more than a second."
    low, high = most.runtime_s
    text = f"The assumption that matters most is {in_words(most.input)} ({_source(most.input)}): {_span(most.input)}, "
    text += (
        f"it lasts {_lasts(low)} at one end and {_lasts(high)} at the other, all else at its middle value."
    )
    if most.verdicts is None:
        return text
    if not found.moves(most):
        return f"{text} The verdict stays “{found.centre_verdict}” at both ends."
    return f"{text} The verdict is “{most.verdicts[0]}” at the first and “{most.verdicts[1]}” at the second."


def _span(taken: Input) -> str:
    """From where to where an input was moved, in words."""
    low, high = _value(taken, taken.low), _value(taken, taken.high)
    if taken.unit == "1":
        return f"from {low:.3g} to {high:.3g} times its middle value"
    factor, unit = _SHOWN.get(taken.unit, (1.0, taken.unit))
    return f"from {factor * low:.3g} to {factor * high:.3g} {unit}"


def sensitivity_text(found: Sensitivity) -> str:
    """The same for reading, largest swing first."""
    page, base = Page(), found.base
    page.title(headline(base), (f"Battery: {base.record.name}", f"Outing:  {base.outing.name}"))
    page.part("What matters most", [sentence_of_most(found)])
    told = [one for one in found.swings if one.swing_s / SECONDS_PER_HOUR >= SMALL_H]
    page.part(
        "How far each input moves the time it lasts", [_line(found, one) for one in told] or ["none moves it"]
    )
    rest = [in_words(one.input) for one in found.swings if one not in told]
    page.part("Without effect here", rest)
    page.part("How this was found", [METHOD])
    return page.text()


METHOD = (
    "Each input stands at the low and at the high end that eight cases in ten lie between, all else at its middle "
    "value; what the tests tie together moves together. What you stated without a range (temperature, joints, charge "
    "at the start) is moved by a step we chose. The share of the spread is a check from the draws of the answer."
)


def _line(found: Sensitivity, one: Swing) -> str:
    low, high = one.runtime_s
    share = "" if one.share is None else f"; {_percent(one.share)} of the spread of the draws"
    moved = ""
    if one.verdicts is not None and found.moves(one):
        moved = f"; the verdict goes from “{one.verdicts[0]}” to “{one.verdicts[1]}”"
    taken = f"{in_words(one.input)} ({_source(one.input)}), {_span(one.input)}"
    return capital(f"{taken}: {_lasts(low)} to {_lasts(high)}{share}{moved}.")


def _source(taken: Input) -> str:
    return "stated, a step of ours" if taken.kind == GIVEN else taken.evidence


def _percent(share: float) -> str:
    return f"{100.0 * min(max(share, 0.0), 1.0):.0f} %"


def _lasts(seconds: float) -> str:
    return f"{seconds / SECONDS_PER_HOUR:.2f} h" if math.isfinite(seconds) else "beyond 10,000 h"


def _hours(seconds: float) -> float | None:
    return seconds / SECONDS_PER_HOUR if math.isfinite(seconds) else None


def _value(taken: Input, value: float) -> float:
    return value - ZERO_CELSIUS_K if taken.unit == "K" else value
