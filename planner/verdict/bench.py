"""What every answer about one battery shares, worked out once for many outings."""

from __future__ import annotations

from dataclasses import dataclass

from planner.battery.envelope import Envelope, build_envelope
from planner.battery.fit import Fitted
from planner.battery.terminals import TerminalModel, fit_terminals
from planner.record.schema import Record


@dataclass(frozen=True, slots=True)
class Bench:
    """A record, its model and what follows from them alone.

    envelope : how hard for how long. terminals : their rise, None where no reading tells it.
    """

    record: Record
    fitted: Fitted
    envelope: Envelope
    terminals: TerminalModel | None


def bench_of(record: Record, fitted: Fitted) -> Bench:
    """Everything that follows from a record and its model."""
    return Bench(record, fitted, build_envelope(record), fit_terminals(record))
