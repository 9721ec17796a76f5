"""Sentences about charge: the checks `energy` and `reserve`, and the tests that would settle them."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from planner.explain.words import about_time, amp_hours, amps, chance, degrees

Parts = Mapping[str, Any]

# What the model takes from a handbook, and the test that would measure it.
PARAMETERS: Mapping[str, tuple[str, str]] = {
    "metal_ohm": ("the resistance of leads and switch", "step"),
    "cell_ohm": ("the resistance of the cells", "step"),
    "pair_ohm": ("how far the voltage sinks within a minute of load", "step"),
    "pair_tau": ("how fast the voltage sinks under load", "step"),
    "diffusion_tau_s": ("how much charge a hard draw leaves behind", "rate"),
    "gap_lag": ("how fast the charge that a hard draw leaves behind comes back in a pause", "pulses"),
    "curve_shift_v": ("the voltage along the discharge", "curve"),
    "activation": ("how the resistance grows in the cold", "cold step"),
    "diffusion_activation": ("how much more a hard draw leaves behind in the cold", "cold"),
    "cold_loss": ("how much charge is lost in the cold", "cold"),
    "cold_loss_below": ("how much charge is lost in the cold", "cold"),
    "heat_capacity": ("how fast the battery inside warms up", "heat"),
    "conductance": ("how fast the battery inside takes the temperature of the air", "heat"),
    "charge_factor": ("the meter's error on the charge", "rate"),
}
_TESTS = {
    "step": "a current step on the bench: the voltage at a small and at a large current, read after 1 and 10 seconds",
    "rate": "a full discharge at the current of this outing",
    "pulses": "a full discharge in pulls and pauses like those of this outing, with its log kept",
    "curve": "a full discharge with its voltage written down along the way",
    "cold step": "a current step with the battery inside as cold as in this outing",
    "cold": "a full discharge with the battery inside as cold as in this outing",
    "heat": "a full discharge with a probe on the cells, the air's temperature written down beside it",
}


def parameter(name: str) -> str:
    """A model parameter in words."""
    return _known(name)[0]


def test_of(name: str) -> str:
    """The sort of test that measures a model parameter, by the keys of the tests told here."""
    return _known(name)[1]


def _known(name: str) -> tuple[str, str]:
    stem = name.rstrip("0123456789").rstrip("_") if name not in PARAMETERS else name
    return PARAMETERS[stem]


def _covers(parts: Parts) -> str:
    need = f"Your outing takes {amp_hours(parts['need_c'], 'up')}."
    if not math.isfinite(parts["p10_c"]):
        return f"{need} It draws too little to empty this battery within the time we follow."
    return f"{need} In nine outings of ten like this one, a unit like ours gives at least {amp_hours(parts['p10_c'], 'down')}."


def _fits(parts: Parts) -> str:
    return f"{_covers(parts)} It lasts to the end."


def _limits(parts: Parts) -> str:
    return (
        f"{_covers(parts)} Your loads may take more than planned, and your unit may hold less than ours. In the middle of "
        f"what we expect it lasts; it does so in {chance(parts['completes'])} outings like this one, if units and loads "
        "differ as much as we assumed."
    )


def _short(parts: Parts) -> str:
    need, able = parts["need_c"], parts["p10_c"]
    return (
        f"Your outing takes {amp_hours(need, 'up')}. By our measurements a unit like this one does not last to "
        f"the end: in nine outings of ten it gives at least {amp_hours(able, 'down')}."
    )


def _unserved(parts: Parts) -> str:
    through = "battery and cable together" if parts["wired"] else "the battery"
    when = "At the start" if parts["time_s"] < 1.0 else f"After {about_time(parts['time_s'], 'down')}"
    cure = "Thicker or shorter cable, or less power at once, cures it." if parts["wired"] else "Ask for less power at once."
    return (
        f"{when} your plan asks for more power than {through} can give: the voltage collapses under it and what runs "
        f"on it stops. {cure}"
    )


def _energy_not_proven(parts: Parts) -> str:
    return f"{_covers(parts)} That figure does not rest on tests of this unit alone. We would not rely on it until tested."


def _counter(parts: Parts) -> str:
    return f"the counter, zeroed when the battery is full, shows {amp_hours(parts['counter_c'], 'down')} used"


def _energy_limit(parts: Parts) -> str:
    by_clock = ""
    if math.isfinite(parts["time_s"]):
        by_clock = f", or after {about_time(parts['time_s'], 'down')} by the clock if you have no counter"
    return f"Stop drawing when {_counter(parts)}{by_clock}."


def _turn_back(parts: Parts) -> str:
    verb = "Turn back" if parts["way_home"] else "Stop"
    text = f"{verb} when {_counter(parts)}"
    if parts["time_s"] is not None:
        text += f", or after {about_time(parts['time_s'], 'down')} by the clock if you have no counter"
    later = "the trip home" if parts["way_home"] else "the reserve you asked for"
    return f"{text}. Past that point we cannot count on {later}."


def _no_capacity(_: Parts) -> str:
    return (
        "We have no full discharge of this unit, so nobody knows how long it lasts. It may well do. We would not "
        "rely on it until tested."
    )


def _claimed(_: Parts) -> str:
    return (
        "A load in your plan is a figure from a label or a seller. A claim is not a measurement, so we draw no "
        "verdict from it."
    )


def _beyond_rate(parts: Parts) -> str:
    return (
        f"Your outing draws {amps(parts['mean_a'], 'up')} on average while anything is on. This unit was shown "
        f"at {amps(parts['shown_a'], 'down')} at most. How much charge it gives above that is not tested. It may "
        "well do. We would not rely on it until tested."
    )


def prior_decides(parts: Parts) -> str:
    """That an assumption, and which, carries the answer."""
    return (
        f"The answer hangs on {parameter(parts['name'])}. That was not measured on this unit; we took a handbook "
        "value, and the range of that value reaches from yes to no."
    )


def _prior_test(parts: Parts) -> str:
    return f"It would be settled by {_TESTS[_known(parts['name'])[1]]}."


def _cold_covered(parts: Parts) -> str:
    return (
        f"The battery inside gets to {degrees(parts['cell_k'], 'down')}, where we did not test this unit's charge. "
        f"Your outing takes {amp_hours(parts['need_c'], 'up')}; even with the worst loss we assume for that "
        "temperature, it lasts."
    )


def _cold_beyond(parts: Parts) -> str:
    return (
        f"Your outing takes {amp_hours(parts['need_c'], 'up')}. This unit gave {amp_hours(parts['warm_c'], 'down')} "
        "when warm. At the temperature of your outing it will not give more."
    )


def _cold_open(parts: Parts) -> str:
    return (
        f"The battery inside gets to {degrees(parts['cell_k'], 'down')}, where we did not test this unit's charge. "
        f"Your outing takes {amp_hours(parts['need_c'], 'up')}. It may well do. We would not rely on it until tested."
    )


def _cold_capacity(parts: Parts) -> str:
    return f"It would be settled by a full discharge with the battery inside at {degrees(parts['cell_k'], 'down')}."


def _reserve_fits(parts: Parts) -> str:
    return (
        f"Outing and reserve together take {amp_hours(parts['need_c'], 'up')}, of which "
        f"{amp_hours(parts['reserve_c'], 'up')} are the reserve. In nine outings of ten a unit like ours gives at "
        f"least {amp_hours(parts['p10_c'], 'down')}."
    )


def _reserve_limits(parts: Parts) -> str:
    return (
        f"{_reserve_fits(parts)} Your loads may take more than planned, too: plan and reserve both hold in "
        f"{chance(parts['completes'])} outings like this one, and we count on what holds in 9 in 10. So there is a point "
        "to stop at."
    )


def _reserve_short(parts: Parts) -> str:
    return (
        f"The reserve alone takes {amp_hours(parts['reserve_c'], 'up')}. In nine outings of ten a unit like ours "
        f"gives at least {amp_hours(parts['p10_c'], 'down')}: nothing is left to set out with."
    )


def _says(text: str) -> Callable[[Parts], str]:
    return lambda _: text


SENTENCES: Mapping[str, Callable[[Parts], str]] = {
    "energy_fits": _fits,
    "energy_fits_with_limits": _limits,
    "energy_does_not_fit": _short,
    "energy_not_proven": _energy_not_proven,
    "unserved": _unserved,
    "energy_limit": _energy_limit,
    "no_capacity": _no_capacity,
    "capacity_test": _says("It would be settled by a full discharge of this unit."),
    "claimed_load": _claimed,
    "buyer_log": _says(
        "It would be settled by a log of the current in one of your own outings, one reading a second."
    ),
    "beyond_rate": _beyond_rate,
    "energy_carried": lambda p: (
        f"Your outing takes {amp_hours(p['need_c'], 'up')}. On the bench this unit gave more than that in one go, at more "
        "current. How much it gives in all at such a current is not tested."
    ),
    "capacity_at": lambda p: f"It would be settled by a full discharge at {amps(p['current_a'], 'up')}.",
    "prior_decides": prior_decides,
    "prior_test": _prior_test,
    "cold_covered": _cold_covered,
    "cold_beyond_warm": _cold_beyond,
    "cold_not_proven": _cold_open,
    "cold_capacity": _cold_capacity,
    "reserve_fits": _reserve_fits,
    "reserve_fits_with_limits": _reserve_limits,
    "reserve_does_not_fit": _reserve_short,
    "reserve_missing": _says("You ask about a reserve, but the outing names none."),
    "enter_reserve": _says("Enter a reserve, or the way home: its distance, speed and current."),
    "turn_back": _turn_back,
}
