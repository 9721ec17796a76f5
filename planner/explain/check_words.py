"""What each check is called and what it asks, kept in one place for every page and sheet that tells of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class CheckWords:
    """Words of one check.

    title : heads its answer. name : inside a sentence. question : what it asks. rule : how a need is counted that the
    bench alone cannot give.
    """

    title: str
    name: str
    question: str
    rule: str


CHECK_WORDS: Mapping[str, CheckWords] = MappingProxyType(
    {
        "energy": CheckWords(
            "How long it lasts",
            "how long it lasts",
            "Is there charge enough for the whole outing, in nine outings of ten?",
            "model of them, nine outings in ten",
        ),
        "reserve": CheckWords(
            "Reserve",
            "the reserve",
            "Is what you want to keep still there at the end: a share of the charge, or the way home?",
            "model of them, nine outings in ten",
        ),
        "peak_current": CheckWords(
            "Highest current held",
            "the highest current held",
            "Was a current as high and as long as the highest of your plan held on the bench without switching off?",
            "that test less the meter's error",
        ),
        "terminal_heat": CheckWords(
            "Heat at the terminals",
            "heat at the terminals",
            "Do the terminals stay below the hottest they may get?",
            "limit of the terminals",
        ),
        "inverter": CheckWords(
            "Inverter",
            "the inverter",
            "Do the volts at the inverter stay above those at which it cuts out?",
            "model of them, through the cable",
        ),
        "wiring": CheckWords(
            "Cable and fuse",
            "cable and fuse",
            "Do cable and fuse carry the current, and do volts enough arrive?",
            "table of the conductor",
        ),
        "winter_charging": CheckWords(
            "Charging in the cold",
            "charging in the cold",
            "How much charging does the battery refuse because its cells are too cold?",
            "weather hour by hour, at what the tests blocked and accepted",
        ),
        "bank": CheckWords(
            "Several batteries together",
            "several batteries together",
            "Do several units share the current so that none is asked for more than it was shown to hold?",
            "currents shared by resistance, each unit against its own tests",
        ),
    }
)
TITLES: Mapping[str, str] = MappingProxyType({check: words.title for check, words in CHECK_WORDS.items()})
