"""What the bench page shows: one log read, and one record's claims beside its measurements."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import pandas as pd

from planner.errors import InputRefused
from planner.explain.audit_answer import audit_json, audit_text
from planner.explain.chart_look import Figure
from planner.explain.log_chart import claims_table, log_figure
from planner.explain.residual_chart import residual_figure
from planner.record.log_summary import LogSummary, summarise_log
from planner.record.log_toml import FoundTest, found_tests
from planner.screens.given import Upload, with_names_restored
from planner.screens.log_says import LogSays
from planner.screens.reading import Inputs, Refused
from planner.verdict.audit import audit

LOG_ENDINGS = ("csv", "xlsx", "parquet")


@dataclass(frozen=True, slots=True)
class LogView:
    """One log in words, chart and files."""

    text: str
    toml: str
    json_text: str
    warnings: tuple[str, ...]
    figure: Figure
    tests: tuple[FoundTest, ...]


@dataclass(frozen=True, slots=True)
class AuditView:
    """One record's claims, and the whole audit as text."""

    battery: str
    claims: pd.DataFrame
    text: str
    residuals: tuple[Figure, ...]


def log_view(log: Path | Upload, says: LogSays) -> LogView | Refused:
    """The same as the command `log`. An upload lies under a name of ours while it is read."""
    if isinstance(log, Path):
        return _read(log, log.name, says)
    ending = next((known for known in LOG_ENDINGS if log.name.lower().endswith(f".{known}")), "csv")
    with TemporaryDirectory(prefix="upload-") as folder:
        path = Path(folder) / f"log-upload.{ending}"
        path.write_bytes(log.data)
        return _read(path, log.name, says)


def _read(path: Path, name: str, says: LogSays) -> LogView | Refused:
    def restored(text: str) -> str:
        return text.replace(str(path), name).replace(path.name, name)

    try:
        summary: LogSummary = summarise_log(path, says.options())
    except InputRefused as refused:
        return Refused(with_names_restored(refused, restored))
    return LogView(
        restored(summary.to_text()),
        restored(summary.to_toml()),
        restored(json.dumps(summary.to_json(), indent=2)),
        tuple(restored(text) for text in summary.warnings),
        log_figure(summary),
        found_tests(summary),
    )


def audit_view(inputs: Inputs, currency: str) -> AuditView:
    """The same as the command `audit`. currency : of a price whose record states none."""
    found = audit(inputs.records[0], inputs.models[0])
    return AuditView(
        inputs.records[0].name, claims_table(audit_json(found)), inputs.restored(audit_text(found, currency)),
        tuple(residual_figure(one) for one in found.residuals),
    )
