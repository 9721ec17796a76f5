"""One [[load]] of an outing file, checked."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from planner.outing.inverter_reader import with_inverter
from planner.outing.motor import follows_cube_law
from planner.outing.recorded import read_log
from planner.outing.schema import Load, Log, StartSurge, Use
from planner.toml_table import Table

KINDS = ("current", "power", "resistive", "inverter", "motor", "recorded")
# One standard deviation of a load known this way: common practice, no source. Weakest last.
SPREADS = {"measured": 0.02, "logged": 0.05, "stated": 0.15, "handbook": 0.25, "claimed": 0.25}
EVIDENCE = tuple(SPREADS)
MAX_CURRENT_A = 10_000.0
MAX_POWER_W = 100_000.0
MAX_VOLTAGE_V = 100.0
LEAST_OHM, MOST_OHM = 1e-4, 1e6  # of a resistive load: a bolt across the terminals, and nothing at all
SAME_CURRENT = 0.005  # two statements of one current closer than this agree
END_S = 1e-6  # rounding noise of sums of decimal times


def read_load(load: Table, number: int, duration_s: float) -> Load:
    """A load as its table says; problems are noted there, and the load is provisional until `finish()`.

    number : its place in the file, from 1. duration_s : the outing's length, NaN when that was refused.
    """
    kind = load.choice("kind", KINDS, required=True)
    if load.has("thrust"):
        fix = (
            "thrust is a force; enter a current reading per speed: full_current or table. A claim goes into "
            "claimed_thrust, beside propeller_diameter."
        )
        load.problem("thrust", "given", "currents", fix)
    log = read_log(load) if kind == "recorded" else None
    stated = load.choice("evidence", EVIDENCE, default="logged" if kind == "recorded" else "stated")
    spread = load.quantity("spread", "fraction", low=0.0, high=1.0)
    found = Load(
        name=load.text("name") or f"load {number}",
        kind=kind,
        uses=_uses(load, kind, duration_s, log),
        evidence=stated,
        spread=SPREADS[stated] if spread is None else spread,
        log=log,
        surge=None if kind == "recorded" else _surge(load),
        safety=bool(load.flag("safety")),
    )
    found = _with_demand(load, found)
    if found.surge is not None and found.surge.current_a < (found.current_a or 0.0):
        load.warn(
            f"start_surge.current of {found.surge.current_a:g} A is below the {found.current_a:g} A drawn after it; it "
            "is the load's whole current at switch-on, not what is added to it"
        )
    return _with_prior(load, found, spread) if kind == "motor" else found


def _with_demand(load: Table, found: Load) -> Load:
    """The load with what its kind draws."""
    if found.kind == "current":
        current_a = load.quantity("current", "current", low=0.0, high=MAX_CURRENT_A, required=True)
        return replace(found, current_a=current_a)
    if found.kind == "power":
        power_w = load.quantity("power", "power", low=0.0, high=MAX_POWER_W, required=True)
        return replace(found, power_w=power_w)
    if found.kind == "resistive":
        return replace(found, resistance_ohm=_resistance_ohm(load))
    if found.kind == "inverter":
        return with_inverter(load, found)
    if found.kind == "motor":
        return _with_motor(load, found)
    return found


def _resistance_ohm(load: Table) -> float | None:
    """The resistance, or that of the rated power at the rated voltage."""
    resistance = load.quantity("resistance", "resistance", low=LEAST_OHM, high=MOST_OHM)
    power = load.quantity("power", "power", above=0.0, high=MAX_POWER_W)
    voltage = load.quantity("voltage", "voltage", above=0.0, high=MAX_VOLTAGE_V)
    rated = load.has("power") and load.has("voltage")
    if load.has("resistance") == rated or load.has("power") != load.has("voltage"):
        allowed = "resistance, or power and voltage together"
        fix = "Give one of the two; a rated power holds at its rated voltage only."
        load.problem("resistance", "not the only statement" if rated else "not clear", allowed, fix)
        return None
    if power is None or voltage is None:
        return resistance
    from_rating = voltage * (voltage / power)
    if not LEAST_OHM <= from_rating <= MOST_OHM:
        found = f"{power:g} W at {voltage:g} V, which is {from_rating:.2g} ohm"
        load.problem("power", found, f"{LEAST_OHM:g} to {MOST_OHM:g} ohm", "Check power, voltage and their units.")
    return from_rating


def _with_motor(load: Table, found: Load) -> Load:
    full_a = load.quantity("full_current", "current", above=0.0, high=MAX_CURRENT_A)
    rows = load.pairs("table", ("number", "current"), limits=((0.0, 1.0), (0.0, MAX_CURRENT_A)))
    table = tuple((speed, current) for speed, current in rows)
    if not (load.has("full_current") or load.has("table")):
        fix = 'Write full_current = "52 A", or a table of current readings, one a speed.'
        load.problem("full_current", "absent", "full_current, table, or both", fix)
    if load.has("table"):
        _check_table(load, table)
    at_full_a = table[-1][1] if table and table[-1][0] == 1.0 else full_a
    if full_a is not None and not math.isclose(full_a, at_full_a or full_a, rel_tol=SAME_CURRENT):
        found_a = f"{full_a:g} A, where the table has {at_full_a:g} A at full speed"
        load.problem("full_current", found_a, "one current at full speed", "Leave the wrong one out.")
    return _with_claims(load, replace(found, full_current_a=full_a, motor_table=table))


def _with_claims(load: Table, found: Load) -> Load:
    """A thrust claimed and what a start draws: held against the current, never turned into one."""
    for key, other in (
        ("claimed_thrust", "propeller_diameter"),
        ("propeller_diameter", "claimed_thrust"),
        ("spin_up", "winding_resistance"),
    ):
        if load.has(key) and not load.has(other):
            load.problem(
                key, f"without {other}", f"together with {other}", f"Add {other}, or leave {key} out."
            )
    return replace(
        found,
        thrust_n=load.quantity("claimed_thrust", "force", above=0.0, high=1e5),
        propeller_m=load.quantity("propeller_diameter", "length", above=0.0, high=5.0),
        winding_ohm=load.quantity("winding_resistance", "resistance", above=0.0, high=100.0),
        spin_up_s=load.quantity("spin_up", "duration", above=0.0, high=60.0),
    )


def _check_table(load: Table, table: Sequence[tuple[float, float]]) -> None:
    """Speeds rise from above 0, currents are above 0 and do not fall."""
    below = [row for row in table if row[0] <= 0.0 or row[1] <= 0.0]
    if below:
        load.problem(
            "table", f"a row at {below[0][0]:g}", "speeds and currents above 0", "Leave the row out."
        )
    for (slow, slow_a), (fast, fast_a) in pairwise(table):
        if fast <= slow or fast_a < slow_a:
            shown = f"[{slow:g}, {slow_a:g} A] then [{fast:g}, {fast_a:g} A]"
            fix = "Put the rows in order of speed; more speed takes no less current."
            load.problem("table", shown, "rows that rise", fix)


def _with_prior(load: Table, found: Load, spread: float | None) -> Load:
    """A motor used where no reading covers its speed rests on the handbook law, and its class says so."""
    known = [row for row in found.motor_table if row[0] > 0.0 and row[1] > 0.0]
    if not known and found.full_current_a is None:
        return found
    speeds = sorted({use.speed or 0.0 for use in found.uses if follows_cube_law(found, use.speed or 0.0)})
    if not speeds:
        return found
    shown = ", ".join(f"{speed:g}" for speed in speeds)
    load.warn(
        f"current at speed {shown} taken as 3 % fixed plus the cube of the speed (handbook): no reading "
        "covers it. A motor with stepped resistance draws much more; read the current at this speed"
    )
    evidence = EVIDENCE[max(EVIDENCE.index(found.evidence), EVIDENCE.index("handbook"))]
    return replace(found, evidence=evidence, spread=SPREADS[evidence] if spread is None else spread)


def _surge(load: Table) -> StartSurge | None:
    table = load.table("start_surge")
    if table is None:
        return None
    current_a = table.quantity("current", "current", above=0.0, high=MAX_CURRENT_A, required=True)
    duration_s = table.quantity("duration", "duration", above=0.0, high=3600.0, required=True)
    return StartSurge(current_a, duration_s)


# ---- uses ----


def _uses(load: Table, kind: str, duration_s: float, log: Log | None) -> tuple[Use, ...]:
    """The uses in order of time; the whole outing when none are given."""
    log_s = None if log is None else log.time_s[-1]
    if not load.has("use"):
        if kind == "motor":
            fix = 'Write use = [{ start = "0 min", length = "1 h", speed = 0.5 }].'
            load.problem("use", "absent", "one or more uses with a speed", fix)
            return ()
        if kind != "recorded":
            load.warn("no use stated: taken as on for the whole outing")
            return (Use(0.0, duration_s),)
        return () if log_s is None else (_fitted(load, Use(0.0, log_s), duration_s),)
    tables = load.tables("use", required=True)
    uses = [(table, _use(table, kind, log_s)) for table in tables]
    if kind == "recorded":
        uses = [(table, _fitted(table, use, duration_s)) for table, use in uses]
    for table, use in uses:
        _check_end(table, use, duration_s)
    _check_overlap(load, [use for _, use in uses])
    return tuple(sorted((use for _, use in uses), key=lambda use: use.start_s))


def _use(table: Table, kind: str, log_s: float | None) -> Use:
    start_s = table.quantity("start", "duration", low=0.0, required=True)
    if kind == "recorded":
        length = table.quantity("length", "duration", above=0.0)
        longest_s = math.nan if log_s is None else log_s
        return Use(start_s, longest_s if length is None else min(length, longest_s))
    length_s = table.quantity("length", "duration", above=0.0, required=True)
    speed = table.number("speed", low=0.0, high=1.0, required=True) if kind == "motor" else None
    on_s = table.quantity("on", "duration", above=0.0)
    off_s = table.quantity("off", "duration", above=0.0)
    for key, other in (("on", "off"), ("off", "on")):
        if table.has(key) and not table.has(other):
            table.problem(key, f"without {other}", "both, or neither", f"Add {other}, or leave {key} out.")
    return Use(start_s, length_s, speed, on_s, off_s)


def _fitted(table: Table, use: Use, duration_s: float) -> Use:
    """A recorded log laid into the outing: cut where it is longer, silent where it is shorter, both told."""
    left_s = duration_s - use.start_s
    if use.length_s > left_s + END_S and left_s > 0.0:
        table.warn(
            f"the log lasts {use.length_s:g} s and the outing leaves {left_s:g} s: the rest is cut off"
        )
        return replace(use, length_s=left_s)
    if use.length_s < left_s - END_S:
        table.warn(f"the log ends {left_s - use.length_s:g} s before the outing: nothing is drawn after it")
    return use


def _check_end(table: Table, use: Use, duration_s: float) -> None:
    end_s = use.start_s + use.length_s
    if use.start_s >= duration_s or end_s > duration_s + END_S:
        fix = "Shorten the use or lengthen the outing's duration."
        table.problem("", f"from {_time(use.start_s)} to {_time(end_s)}", f"an end by {_time(duration_s)}", fix)


def _time(seconds: float) -> str:
    """A time of the outing as a reader would write it, to six digits, so that it can be typed back."""
    if seconds < 120.0:
        return f"{seconds:g} s"
    return f"{seconds / 60.0:g} min" if seconds < 7200.0 else f"{seconds / 3600.0:g} h"


def _check_overlap(load: Table, uses: Sequence[Use]) -> None:
    placed = sorted(
        (use.start_s, use.start_s + use.length_s, place) for place, use in enumerate(uses, start=1)
    )
    for (_, end_s, one), (start_s, _, other) in pairwise(placed):
        if start_s < end_s - END_S:
            found = f"use {one} lasts to {_time(end_s)}, use {other} starts at {_time(start_s)}"
            load.problem(
                "use",
                found,
                "uses of one load that do not overlap",
                "Move one, or make it a load of its own.",
            )
