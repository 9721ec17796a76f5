"""What the page after an outing shows: its log beside what was predicted of it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pandas as pd

from planner.errors import InputRefused
from planner.explain.follow_up_answer import ENDINGS, PLACES, beside, follow_up_json
from planner.explain.words import about_time
from planner.screens.given import Upload, with_names_restored
from planner.screens.log_says import LogSays
from planner.screens.reading import Inputs, Refused
from planner.verdict.assess import DRAWS, SEED
from planner.verdict.follow_up import follow_up

LOG_ENDINGS = ("csv", "xlsx", "parquet")
ROWS = {"runtime_h": ("Lasts", "h"), "charge_Ah": ("Used", "Ah"), "min_voltage_V": ("Lowest", "V")}


@dataclass(frozen=True, slots=True)
class AfterView:
    """One outing looked back at."""

    heading: str
    findings: tuple[str, ...]
    serious: bool
    table: pd.DataFrame
    beside: tuple[str, ...]
    json_text: str


def after_view(inputs: Inputs, log: Path | Upload, says: LogSays) -> AfterView | Refused:
    """The same as the command `follow-up`. An upload lies under a name of ours while it is read; nothing is written."""
    if isinstance(log, Path):
        return _found(inputs, log, log.name, says)
    ending = next((known for known in LOG_ENDINGS if log.name.lower().endswith(f".{known}")), "csv")
    with TemporaryDirectory(prefix="upload-") as folder:
        path = Path(folder) / f"log-upload.{ending}"
        path.write_bytes(log.data)
        return _found(inputs, path, log.name, says)


def _found(inputs: Inputs, path: Path, name: str, says: LogSays) -> AfterView | Refused:
    def restored(text: str) -> str:
        return inputs.restored(text.replace(str(path), name).replace(path.name, name))

    try:
        found = follow_up(inputs.records[0], inputs.needed_outing(), path, DRAWS, SEED, says.options(),
                          inputs.units)  # fmt: skip
    except InputRefused as refused:
        return Refused(with_names_restored(refused, restored))
    told = follow_up_json(found)
    trip = told["trip"]
    return AfterView(
        f"The outing took {about_time(found.length_s, 'near')}, and {ENDINGS[found.ended]}",
        tuple(restored(text) for text in told["findings"]), trip is not None and bool(trip["serious"]),
        _table(told), tuple(restored(text) for text in beside(found)), restored(json.dumps(told, indent=2)),
    )  # fmt: skip


def _table(told: dict[str, Any]) -> pd.DataFrame:
    """Predicted, eight in ten, beside what was found."""
    rows = [(f"{name} ({unit})", told[key]) for key, (name, unit) in ROWS.items() if told[key] is not None]
    rows += [(f"Lasts, {name} put right (h)", band) for name, band in told["runtime_with_h"].items()]
    return pd.DataFrame(
        {
            "What": [name for name, _ in rows],
            "Predicted from": [_rounded(band["p10"]) for _, band in rows],
            "Predicted middle": [_rounded(band["centre"]) for _, band in rows],
            "Predicted to": [_rounded(band["p90"]) for _, band in rows],
            "Found": [_rounded(band["found"]) for _, band in rows],
            "So": [PLACES[band["place"]] for _, band in rows],
        }
    )


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 2)
