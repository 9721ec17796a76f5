"""What the page of cable and fuse shows of one outing, as entered or with another cable or fuse."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pandas as pd

from planner.explain.alternator_notes import alternator_notes
from planner.explain.bank_notes import bank_notes
from planner.explain.chain_sentences import change_sentence, links_sentences
from planner.explain.chain_table import Link, branch_figure, chain_of, chain_table
from planner.explain.chart_look import Figure
from planner.install.conductor import awg_area_m2, awg_name, shown_size
from planner.outing.schema import Outing, Wiring
from planner.screens.fit_view import Row, rows_of
from planner.screens.reading import Inputs
from planner.verdict.assess import DRAWS, SEED, assess
from planner.verdict.cheapest_change import cheapest_change

CHAIN_CHECKS = ("wiring", "inverter", "bank", "terminal_heat")
AS_ENTERED, NO_FUSE = "as entered", "none"


@dataclass(frozen=True, slots=True)
class WiringView:
    """One chain and its verdict."""

    verdict: str
    wiring_verdict: str | None
    entered: str | None
    links: tuple[Link, ...]
    table: pd.DataFrame
    rows: tuple[Row, ...]
    notes: tuple[str, ...]
    bank_notes: tuple[str, ...]
    branches: Figure | None
    ranked: tuple[str, ...]
    change: str | None


def wiring_view(inputs: Inputs, gauge: int | None, fuse: str) -> WiringView:
    """The whole answer with the chain as entered, or with another gauge or fuse.

    gauge : a number of the table, None as entered. fuse : AS_ENTERED, NO_FUSE, or amps as text.
    """
    (record,), (model,) = inputs.records, inputs.models
    outing = changed(inputs.needed_outing(), gauge, fuse)
    found = assess(record, outing, inputs.climate, DRAWS, SEED, model, inputs.units)
    links, rows = chain_of(found), tuple(row for row in rows_of(found) if row.id in CHAIN_CHECKS)
    result = found.wiring
    notes = () if result is None else (*alternator_notes(found), *result.warnings, *result.notes)
    entered = inputs.needed_outing().wiring
    return WiringView(
        found.verdict,
        None if result is None else result.verdict,
        None if entered is None else shown_size(entered.size),
        links,
        chain_table(links),
        rows,
        tuple(inputs.restored(text) for text in notes),
        tuple(inputs.restored(text) for text in bank_notes(found)),
        branch_figure(found),
        tuple(links_sentences(found)),
        change_sentence(found, cheapest_change(found)),
    )


def changed(outing: Outing, gauge: int | None, fuse: str) -> Outing:
    """The outing with another cable or fuse; unchanged where it states no cable."""
    wiring = outing.wiring
    if wiring is None:
        return outing
    return replace(outing, wiring=_fused(_sized(wiring, gauge), fuse))


def _sized(wiring: Wiring, gauge: int | None) -> Wiring:
    if gauge is None:
        return wiring
    return replace(wiring, size=awg_name(gauge), area_m2=awg_area_m2(gauge))


def _fused(wiring: Wiring, fuse: str) -> Wiring:
    if fuse == AS_ENTERED:
        return wiring
    return replace(wiring, fuse_a=None if fuse == NO_FUSE else float(fuse))
