"""A sheet in the units its reader uses. Its JSON, its seed and its digest stay as they are."""

from __future__ import annotations

from dataclasses import replace

from planner.explain.sheet import Part, Sheet
from planner.explain.sheet_evidence import Table
from planner.explain.shown_units import ShownUnits, in_units


def sheet_in_units(sheet: Sheet, shown: ShownUnits) -> Sheet:
    """The sheet with every text of ours in the units shown; names and the tester's own terms stay as typed."""

    def part(one: Part) -> Part:
        return replace(one, items=tuple(in_units(item, shown) for item in one.items))

    def table(one: Table) -> Table:
        rows = tuple(tuple(in_units(cell, shown) for cell in row) for row in one.rows)
        return replace(one, rows=rows, notes=tuple(in_units(note, shown) for note in one.notes))

    return replace(
        sheet,
        headline=in_units(sheet.headline, shown),
        parts=tuple(part(one) for one in sheet.parts),
        cautions=part(sheet.cautions),
        tables=tuple(table(one) for one in sheet.tables),
        notes=part(sheet.notes),
    )
