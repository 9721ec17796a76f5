"""What a word of the answer means, to stand beside the word: verdicts, classes of evidence, questions, terms."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from planner.verdict.check import DOES_NOT_FIT, FITS, LIMITS, NOT_PROVEN

VERDICTS: Mapping[str, str] = MappingProxyType(
    {
        FITS: "Every question that matters was answered yes, by tests and by what you told.",
        LIMITS: "Yes, as long as you keep to the limits that stand with the answer.",
        NOT_PROVEN: "A test that would decide it was not made, or does not reach so far. It is neither yes nor no.",
        DOES_NOT_FIT: "At least one question that matters was answered no.",
    }
)
EVIDENCE: Mapping[str, str] = MappingProxyType(
    {
        "measured": "read from a meter on this unit",
        "logged": "recorded over time by a logger",
        "derived": "worked out from what was measured, between the tests",
        "stated": "told by the buyer",
        "handbook": "usual for the kind, from a handbook; not of this unit",
        "claimed": "from a label or a seller; it never decides",
        "unknown": "nobody measured it and nobody told it",
    }
)
TERMS: Mapping[str, str] = MappingProxyType(
    {
        "nine outings in ten": "battery and loads are drawn many times within what is not known exactly; nine draws in "
        "ten last at least that long.",
        "middle run": "the run with everything at its best known value.",
        "needed": "what the outing asks for.",
        "counted on": "what the battery was shown to give, or is forecast to give.",
        "room": "counted on less needed. Below nothing, it is short of it.",
        "cut-off": "the volts at which you stop.",
        "reserve": "charge that is to be left at the end.",
        "switches off": "the protection inside the unit opens: all loads go dark at once.",
        "held": "the unit gave that current for that long and did not switch off.",
        "cells": "the battery's inside. Its temperature is what counts for charging, and it lags behind the air.",
        "Ah": "amp-hours: amps times hours, the charge taken out.",
        "Wh": "watt-hours: watts times hours, the energy taken out.",
    }
)
