"""The answer to one battery and one outing in words: verdict, limits, three numbers, what was not tested."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from planner.constants import JOULE_PER_WH
from planner.explain.cautions import cautions, peak_is_shown
from planner.explain.chain_sentences import change_sentence, links_sentences
from planner.explain.check_words import TITLES
from planner.explain.digest import input_digest
from planner.explain.evidence_rule import how_far_a_test_speaks
from planner.explain.layout import Page
from planner.explain.reasoning import chain_text, chains
from planner.explain.sentences import sentence
from planner.explain.warnings import warnings
from planner.explain.winter_care_text import stated_care
from planner.explain.words import about_time, amp_hours, amps, amps_beside, capital
from planner.verdict.assess import Assessment
from planner.verdict.cheapest_change import cheapest_change
from planner.verdict.check import DOES_NOT_FIT, FITS, LIMITS, NOT_PROVEN, Check, weakest, worst
from planner.verdict.peak import ONE_HOLD, Peak

HEADLINES = {
    FITS: "FITS: a unit like the one we tested does this outing.",
    LIMITS: "FITS WITH LIMITS: a unit like the one we tested does this outing, if you keep to the limits below.",
    DOES_NOT_FIT: "DOES NOT FIT: by our tests, this unit does not do this outing as planned.",
    NOT_PROVEN: (
        "NOT PROVEN: this unit may well do this outing. Something that decides is not known, and we would not rely on "
        "it until it is."
    ),
}
# what fails is beside the battery: by the one question that decides
ALONE = {
    "wiring": "DOES NOT FIT: not with the cable and fuse as planned.",
    "winter_charging": "DOES NOT FIT: not with the weather and the charging of this place.",
}
APART = {"winter_charging": "Charging it there all year"}  # questions of their own, by what they are about
STOPPED = "stopped"  # at a cut-off of the buyer's own, where a battery need not be empty
ENDS = {
    "cutoff": "The run ends when the battery is empty.",
    STOPPED: "The run ends at the voltage you stop at.",
    "undervoltage": "The run ends when the unit, empty, switches itself off.",
    "empty": "The run ends when the battery is empty.",
    "unserved": "The run ends when a load asks for more power than battery and cable can give.",
    "inverter_cutout": "The run ends when an inverter switches itself off.",
    "trip": "The run ends when the unit switches itself off, as it did on the bench at such a pull.",
    "none": "",
}
HOW_KNOWN = {
    "measured": "which was measured",
    "logged": "which was logged",
    "stated": "which we took from you",
    "handbook": "which we took from a handbook",
    "claimed": "which a label or a seller says",
}
LASTING = ("energy", "reserve")  # what these say presumes that the unit stays on
STAYS_ON = "if it does not switch off"
WOULD_HELP, KEEP_TO = "What would help", "What to keep to"
MOST = 0.5  # of the variance of the runtime: above it one input is the one that matters most


def headline(assessment: Assessment) -> str:
    """The verdict in one line. It does not blame the battery where something beside it alone decides."""
    decide = {check.id for check in assessment.deciding}
    if assessment.verdict == DOES_NOT_FIT and len(decide) == 1 and decide <= ALONE.keys():
        return ALONE[decide.pop()]
    return HEADLINES[assessment.verdict]


def fit_text(assessment: Assessment) -> str:
    """The answer for reading, at most 80 columns."""
    page = Page()
    names = (f"Battery: {assessment.record.name}", f"Outing:  {assessment.outing.name}")
    page.title(headline(assessment), names)
    counted = [check for check in assessment.checks if is_asked(assessment, check)]
    for reason in reasons(assessment):
        page.paragraph(reason)
    page.part(WOULD_HELP, cures(assessment))
    page.part(KEEP_TO, limits(assessment))
    page.part("Three numbers", three_numbers(assessment))
    page.part("What was not tested", not_tested(counted))
    if assessment.winter is not None:
        page.part("Left alone, brought in", stated_care(assessment.winter.care, assessment.winter.climate))
    page.part("Question by question", [_line(assessment, check) for check in assessment.checks])
    page.part("Which link gives first", links_sentences(assessment))
    change = change_sentence(assessment, cheapest_change(assessment))
    page.part("What would mend cable and inverter", [] if change is None else [change])
    page.part(
        "From measurement to verdict",
        [f"{TITLES[chain.check.id]}: {chain_text(chain)}" for chain in chains(assessment) if chain.check in counted],
    )
    page.part("Cautions", cautions(assessment))
    page.part("Beside this answer", warnings(assessment))
    digest = input_digest(assessment.record, assessment.outing, assessment.climate, assessment.batch.units)
    decides = weakest(check.evidence for check in assessment.deciding)
    page.footnote(assessment.seed, assessment.draws, digest, decides, [how_far_a_test_speaks()])
    return page.text()


def reasons(assessment: Assessment) -> list[str]:
    """Why the verdict is not a good one, checks that decide for the same reason together; none where it is good."""
    if assessment.verdict not in (DOES_NOT_FIT, NOT_PROVEN):
        return []
    return _together((TITLES[check.id], sentence(check.reason)) for check in assessment.deciding)


def cures(assessment: Assessment) -> list[str]:
    """What would turn a "does not fit": the limits of the questions that decide it, and of no other."""
    return [] if assessment.verdict != DOES_NOT_FIT else _limits_of(assessment, assessment.deciding)


def limits(assessment: Assessment) -> list[str]:
    """The limits of the questions that count, in the buyer's own controls, without what is told as a cure."""
    told = assessment.deciding if assessment.verdict == DOES_NOT_FIT else ()
    counted = [check for check in assessment.checks if is_asked(assessment, check) and check not in told]
    return _limits_of(assessment, counted)


def _limits_of(assessment: Assessment, checks: Iterable[Check]) -> list[str]:
    found = []
    for check in checks:
        if check.limit is not None:
            held = check.id in LASTING and _may_switch_off(assessment)
            aside = f" This holds {STAYS_ON}." if held else ""
            found.append(f"{TITLES[check.id]}: {sentence(check.limit)}{aside}")
    return found


def _together(told: Iterable[tuple[str, str]]) -> list[str]:
    """Titles and what is said of each, those of which the same is said told once."""
    titles: dict[str, list[str]] = {}
    for title, text in told:
        titles.setdefault(text, []).append(title)
    return [f"{'; '.join(names)}: {text}" for text, names in titles.items()]


def _may_switch_off(assessment: Assessment) -> bool:
    """Whether what lasts, lasts only under a condition; a run that a trip ends has met it already."""
    return assessment.runtime.ended_by != "trip" and not peak_is_shown(assessment)


def not_tested(checks: list[Check]) -> list[str]:
    """What would settle each open check, checks that the same test settles told together."""
    return _together(
        (TITLES[check.id], sentence(check.settled_by)) for check in checks if check.settled_by is not None
    )


def stands_apart(name: str, verdict: str, overall: str) -> bool:
    """Whether an answer to what the outing does not ask is told beside the verdict: the year, and what is worse."""
    return name in APART or worst((verdict, overall)) != overall


def apart(assessment: Assessment) -> list[str]:
    """Answers to what the outing does not ask, that would seem to contradict the verdict if they were not told."""
    return [
        f"{APART.get(check.id, TITLES[check.id])}: {check.verdict}. {sentence(check.reason)}"
        for check in assessment.checks
        if not is_asked(assessment, check) and stands_apart(check.id, check.verdict, assessment.verdict)
    ]


def is_asked(assessment: Assessment, check: Check) -> bool:
    """Whether the check counts in the overall verdict."""
    return assessment.outing.questions is None or check.id in assessment.outing.questions


def _line(assessment: Assessment, check: Check) -> str:
    aside = "" if is_asked(assessment, check) else " (not among your questions)"
    return f"{TITLES[check.id]}{aside}: {check.verdict} [{check.evidence}]. {sentence(check.reason)}"


def three_numbers(assessment: Assessment) -> list[str]:
    """How long, how much charge, how hard a pull: each with its range."""
    return [_how_long(assessment), _how_much(assessment), _how_hard(assessment)]


def _how_long(assessment: Assessment) -> str:
    run = assessment.runtime
    need = f"you need {about_time(run.needed_s, 'up')}"
    if assessment.fitted.capacity_evidence != "measured":
        return f"How long: {need}. What this unit gives was not measured, so how long it lasts is not known."
    if not math.isfinite(run.nominal_s):
        return f"How long: {need}. {_begun(assessment, 'It')} lasts longer than we follow, 10,000 hours."
    begun = _begun(assessment, "In the middle of what we expect")
    middle = f"How long: {need}. {begun} it lasts about {about_time(run.nominal_s, 'near')}"
    middle += ", the outing repeating." if run.nominal_s > run.needed_s else "."
    low, end = about_time(run.p10_s, "down"), ENDS[ending(assessment)]
    high = about_time(run.p90_s, "down") if math.isfinite(run.p90_s) else None
    if high == low:
        return f"{middle} So it does in eight outings of ten like this one. {end}"
    if high is not None:
        span = f"In nine outings of ten at least {low}. Between {low} and {high} in eight outings of ten like this one"
    elif math.isfinite(run.p10_s):
        span = f"In nine outings of ten like this one at least {low}"
    else:
        return f"{middle} {end}"
    driver = main_driver(assessment)
    return f"{middle} {span}. The lower figure is the worse end. {end}{' ' + driver if driver else ''}"


def ending(assessment: Assessment) -> str:
    """How the middle run ends, by the keys of ENDS."""
    by = assessment.runtime.ended_by
    return STOPPED if by == "cutoff" and assessment.outing.cutoff_v is not None else by


def _begun(assessment: Assessment, start: str) -> str:
    """The start of a sentence, behind the condition that the unit stays on where this was not shown."""
    if not _may_switch_off(assessment):
        return start
    return f"{capital(STAYS_ON)}, {start[0].lower()}{start[1:]}"


def _how_much(assessment: Assessment) -> str:
    covered, run = assessment.covered, assessment.runtime
    text = f"How much: your outing takes {amp_hours(covered.need_c, 'up')}"
    if run.energy_j > 0.0 and covered.centre_completes:
        text += f", {math.ceil(run.energy_j / JOULE_PER_WH):,} watt-hours"
    if assessment.fitted.capacity_evidence != "measured":
        return f"{text}. What this unit gives was not measured."
    if any(check.reason.code == "energy_carried" for check in assessment.checks):
        more = "The bench took more out of this unit in one go"
        return f"{text}. {more}. What it gives in all at such a current was not tested."
    if not math.isfinite(covered.usable_p10_c):
        return f"{text}, far less than this unit gives."
    if not math.isfinite(covered.usable_c):
        least = f"at least {amp_hours(covered.usable_p10_c, 'down')} in nine outings of ten"
        return f"{text}. {_begun(assessment, 'A unit like ours')} gives {least}."
    return (
        f"{text}. {_begun(assessment, 'A unit like ours')} gives at least "
        f"{amp_hours(covered.usable_p10_c, 'down')} in nine outings of ten, "
        f"about {amp_hours(covered.usable_c, 'near')} in the middle. The lower figure is the worse end."
    )


def _how_hard(assessment: Assessment) -> str:
    peak = assessment.peak
    if peak.worst is None:
        return "How hard: your plan draws no current."
    point, zone = peak.points[peak.worst], peak.zones[peak.worst]
    size, length = amps(point.current_a, "up"), about_time(point.duration_s, "up")
    if zone.margin_a is not None:
        size, able = amps_beside(point.current_a, point.current_a + zone.margin_a)
    which = "that decides" if zone.margin_a is None else "with the least room"
    need = f"How hard: {size} for {length} is the pull {which}."
    if point.basis == "rms":
        decide = "that decide" if zone.margin_a is None else which
        need = f"How hard: pulses that heat like {size} without a break for {length} are those {decide}."
    if zone.margin_a is not None:
        shown = f"This unit was shown to hold {able} for that long, the meter's error taken off."
        return f"{need} {shown}{_highest(peak)}"
    where = {
        "trips": "This unit switched off at that or less.",
        "conflict": "One test held there and another switched off.",
        "within meter error": "A test lies closer to it than the meter can tell.",
    }
    return f"{need} {where.get(zone.name, 'No test covers it.')}"


def _highest(peak: Peak) -> str:
    """The highest pull, where another one has less room in amps: a small pull that lasts says nothing of a hard one."""
    assert peak.worst is not None
    place = max(range(len(peak.points)), key=lambda k: (peak.points[k].current_a, peak.points[k].duration_s))
    point, margin_a = peak.points[place], peak.zones[place].margin_a
    if margin_a is None or point.current_a <= ONE_HOLD * peak.points[peak.worst].current_a:
        return ""
    size, able = amps_beside(point.current_a, point.current_a + margin_a)
    return f" The highest pull is {size} for {about_time(point.duration_s, 'up')}: there it was shown to hold {able}."


def main_driver(assessment: Assessment) -> str:
    """The load that most of the runtime's spread comes from, and how it is known; "" when there is none.

    By the squared correlation of the logarithm of runtime with each load's own draw.
    """
    batch = assessment.batch
    times = batch.runtime_s()[batch.draws]
    normals = batch.scenarios.load_normal[:, batch.draws]
    if len(times) < 3 or not np.isfinite(times).all() or np.ptp(times) <= 0.0:
        return ""
    shares = [_correlation(np.log(times), normal) ** 2 if normal.any() else 0.0 for normal in normals]
    best = int(np.argmax(shares))
    if shares[best] < MOST:
        return ""
    known = HOW_KNOWN[batch.timeline.evidence[best]]
    return f"This depends mostly on what {batch.timeline.names[best]!r} draws, {known}."


def _correlation(first: np.ndarray, second: np.ndarray) -> float:
    return float(np.corrcoef(first, second)[0, 1])
