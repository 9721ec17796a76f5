"""An outing file (TOML) to an Outing, every problem of the file reported at once."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from planner.constants import SECONDS_PER_DAY, ZERO_CELSIUS_K
from planner.other_scale import other_scale
from planner.outing.build import count_pieces
from planner.outing.load_reader import MAX_CURRENT_A, MAX_VOLTAGE_V, read_load
from planner.outing.schema import ALLOWED_DROP, QUESTIONS, TERMINAL_LIMIT_K, Bank, GetHome, Outing, Wiring
from planner.toml_table import Table, read_toml

LONGEST_S = 366.0 * SECONDS_PER_DAY
COLDEST_K, HOTTEST_K = ZERO_CELSIUS_K - 60.0, ZERO_CELSIUS_K + 80.0  # where people and batteries go
MAX_PIECES = 2_000_000
MAX_ENTRIES = 10_000_000  # pieces times loads: four arrays of this size fill 320 MB
LEAST_AREA_M2 = 0.2e-6  # AWG 24; the tables of what a cable may carry begin at AWG 18
MAX_PARALLEL = 8
MAX_SERIES = 4


def read_outing(path: Path, named: Mapping[str, Path] | None = None) -> Outing:
    """The outing of a TOML file.

    named : of an upload, the only files it may name, by the last part of the name as written.

    Returns a checked outing in SI with its warnings and the files it names.
    Raises InputRefused with every problem of the file: file, key, value, what is accepted, how to mend.
    """
    path = Path(path)
    return replace(outing_from_table(read_toml(path, named)), path=path)


def outing_from_table(top: Table) -> Outing:
    """The outing of a table already read from a file, an upload or a changed copy. Raises InputRefused."""
    duration_s = top.quantity("duration", "duration", above=0.0, high=LONGEST_S, required=True)
    ambient_k = top.quantity("ambient", "temperature", low=COLDEST_K, high=HOTTEST_K, required=True)
    loads = tuple(
        read_load(table, number, duration_s)
        for number, table in enumerate(top.tables("load", required=True), start=1)
    )
    outing = Outing(
        name=top.text("name", required=True) or "",
        duration_s=duration_s,
        ambient_k=ambient_k,
        cell_k=top.quantity(
            "cell_temperature", "temperature", low=COLDEST_K, high=HOTTEST_K, default=ambient_k
        ),
        loads=loads,
        start_soc=top.quantity("start_charge", "fraction", low=0.0, high=1.0, default=1.0),
        cutoff_v=top.quantity("cutoff_voltage", "voltage", above=0.0, high=MAX_VOLTAGE_V),
        cutoff_delay_s=top.quantity("cutoff_delay", "duration", low=0.0, high=3600.0, default=1.0),
        reserve_fraction=top.quantity("reserve", "fraction", low=0.0, high=1.0),
        get_home=_get_home(top),
        questions=_questions(top),
        wiring=_wiring(top),
        bank=_bank(top),
        terminal_limit_k=top.quantity(
            "terminal_limit",
            "temperature",
            low=ZERO_CELSIUS_K + 30.0,
            high=ZERO_CELSIUS_K + 150.0,
            default=TERMINAL_LIMIT_K,
        ),
    )
    _check_pieces(top, outing)
    top.warn_if(other_scale("ambient", outing.ambient_k))
    if top.has("cell_temperature"):
        top.warn_if(other_scale("cell_temperature", outing.cell_k))
    top.finish()
    return replace(outing, files=top.files, warnings=top.warnings)


def _check_pieces(top: Table, outing: Outing) -> None:
    """Refuse what would fill the memory before any array is made."""
    times = [
        value for load in outing.loads for use in load.uses for value in (use.length_s, use.on_s, use.off_s)
    ]
    if not all(math.isfinite(value) for value in [outing.duration_s, *times] if value is not None):
        return  # refused already
    pieces, allowed = count_pieces(outing.duration_s, outing.loads), MAX_PIECES
    if outing.loads:
        allowed = min(MAX_PIECES, MAX_ENTRIES // len(outing.loads))
    if pieces > allowed:
        fix = "Shorten the outing, lengthen on and off, or thin the log."
        top.problem("load", f"switched about {pieces:,} times", f"at most {allowed:,}", fix)


def _questions(top: Table) -> tuple[str, ...] | None:
    found = top.choices("questions", QUESTIONS)
    if found == ():
        top.problem(
            "questions", "no question", ", ".join(QUESTIONS), "Name one, or leave the key out for all."
        )
    return found


def _get_home(top: Table) -> GetHome | None:
    table = top.table("get_home")
    if table is None:
        return None
    if top.has("reserve"):
        fix = "Leave one out: the way home is the reserve."
        top.problem("get_home", "given beside reserve", "reserve or [get_home]", fix)
    return GetHome(
        distance_m=table.quantity("distance", "length", above=0.0, required=True),
        speed_m_per_s=table.quantity("speed", "speed", above=0.0, required=True),
        current_a=table.quantity("current", "current", above=0.0, high=MAX_CURRENT_A, required=True),
        factor=table.number("factor", above=0.0, high=10.0, default=1.0),
    )


def _wiring(top: Table) -> Wiring | None:
    table = top.table("wiring")
    if table is None:
        return None
    gauge, area = table.conductor("gauge"), table.conductor("area")
    if table.has("gauge") == table.has("area"):
        found = "given beside area" if table.has("area") else "absent"
        table.problem("gauge", found, "one of gauge and area", 'Write gauge = "AWG 4" or area = "25 mm^2".')
    size, area_m2 = gauge or area or ("", math.nan)
    _check_area(table, size, area_m2)
    contact_ohm = table.quantity("contact_resistance", "resistance", low=0.0, high=1.0)
    if not table.has("contact_resistance"):
        table.warn("no contact resistance stated: taken as 0")
    bundled = table.number("bundled", low=1.0, high=100.0, whole=True)
    _check_alternator(table)
    return Wiring(
        size=size,
        area_m2=area_m2,
        length_m=table.quantity("length", "length", above=0.0, high=200.0, required=True),
        contact_resistance_ohm=contact_ohm or 0.0,
        insulation_k=table.quantity(
            "insulation", "temperature", low=ZERO_CELSIUS_K + 50.0, high=ZERO_CELSIUS_K + 250.0
        ),
        engine_space=bool(table.flag("engine_space")),
        bundled=None if bundled is None else int(bundled),
        fuse_a=table.quantity("fuse", "current", above=0.0, high=MAX_CURRENT_A),
        fuse_class=table.text("fuse_class"),
        fuse_interrupt_a=table.quantity("fuse_interrupt", "current", above=0.0, high=1e6),
        allowed_drop=table.quantity("allowed_drop", "fraction", above=0.0, high=1.0, default=ALLOWED_DROP),
        charge_current_a=table.quantity("charge_current", "current", low=0.0, high=MAX_CURRENT_A),
        alternator_v=table.quantity("alternator_voltage", "voltage", above=0.0, high=MAX_VOLTAGE_V),
        alternator_rated_a=table.quantity("alternator_current", "current", above=0.0, high=MAX_CURRENT_A),
    )


def _check_area(table: Table, size: str, area_m2: float) -> None:
    """A hair between battery and loads is a slip: "AWG 35" is 0.016 mm2 and was to be 35 mm2."""
    if area_m2 < LEAST_AREA_M2:
        key = "gauge" if table.has("gauge") else "area"
        number = size.upper().removeprefix("AWG").strip() if key == "gauge" else "25"
        fix = f'AWG numbers grow as the wire gets thinner. If it is an area, write area = "{number} mm^2".'
        table.problem(key, f"{size}, {area_m2 * 1e6:.2g} mm^2", "AWG 24 or thicker, 0.2 mm^2 or more", fix)


def _check_alternator(table: Table) -> None:
    """One joined straight to the battery has a voltage, and its current follows from it."""
    if table.has("alternator_current") and not table.has("alternator_voltage"):
        fix = 'Add what its regulator holds, such as alternator_voltage = "14.2 V".'
        table.problem("alternator_current", "without alternator_voltage", "together with it", fix)
    if table.has("alternator_voltage") and table.has("charge_current"):
        fix = "Leave out charge_current, which is worked out; or alternator_voltage, if a charger limits the current."
        table.problem("alternator_voltage", "given beside charge_current", "one of the two", fix)


def _bank(top: Table) -> Bank | None:
    table = top.table("bank")
    if table is None:
        return None
    parallel = int(table.number("parallel", low=1.0, high=MAX_PARALLEL, whole=True, default=1.0))
    series = int(table.number("series", low=1.0, high=MAX_SERIES, whole=True, default=1.0))
    leads = table.quantity_list("lead_resistances", "resistance", low=0.0, high=1.0)
    charges = table.quantity_list("start_charges", "fraction", low=0.0, high=1.0)
    units = table.paths("units")
    for key, count in (("lead_resistances", len(leads)), ("start_charges", len(charges))):
        if table.has(key) and count != parallel:
            allowed = f"{parallel}, one a parallel branch"
            table.problem(key, f"{count} usable values", allowed, "Give one for each branch, in order.")
    if table.has("units") and len(units) not in {parallel, parallel * series}:
        allowed = f"{parallel * series}, one a unit"
        table.problem("units", f"{len(units)} files", allowed, "Name the record of every unit.")
    return Bank(parallel, series, leads, charges, units)
