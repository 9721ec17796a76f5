"""Between a field of an editor and the value in the file: what was typed is kept as typed, for the readers to judge."""

from __future__ import annotations

import datetime
import re
from typing import Any

from planner.library.edit import set_value
from planner.library.sections import Path
from planner.screens.form import CHOICES, DATE, FILES, FLAG, NUMBER, WHOLE, WHOLES, Field
from planner.toml_text import parse

YES, NO = "yes", "no"
# a difference of temperatures as people write it, where the field leaves no doubt that it is one
APART = "temperature_difference"
_OF_THE_FILE = re.compile(r"\bdelta_deg([CF])\b")
_AS_WRITTEN = re.compile(r"(?<!\w)(?:° ?|deg ?)([CF])(?: apart)?$")


def shown_value(field: Field, value: Any) -> Any:
    """A raw value of the file as the field shows it."""
    if field.kind in (CHOICES, FILES):
        return [str(entry) for entry in value] if isinstance(value, list) else []
    if field.kind == FLAG:
        return None if not isinstance(value, bool) else YES if value else NO
    if value is None:
        return None
    if isinstance(value, list):
        return ", ".join(str(entry) for entry in value)
    if isinstance(value, float):
        return f"{value:.12g}"
    return apart(value) if field.kind == APART and isinstance(value, str) else str(value)


def apart(text: str) -> str:
    """A difference of temperatures as a field shows it."""
    return _OF_THE_FILE.sub(r"°\1 apart", text)


def typed_value(field: Field, shown: Any) -> Any:
    """What was entered as a value of the file; None where the key is to be left out."""
    if field.kind in (CHOICES, FILES):
        return list(shown) or None
    if shown is None or not str(shown).strip():
        return None
    text = str(shown).strip()
    if field.kind == APART:
        return _AS_WRITTEN.sub(r"delta_deg\1", text)
    if field.kind == FLAG:
        return text == YES
    if field.kind in (NUMBER, WHOLE):
        return _number(text)
    if field.kind == WHOLES:
        return [_number(part.strip()) for part in text.split(",") if part.strip()]
    if field.kind.startswith("list of "):
        return [part.strip() for part in text.split(",") if part.strip()]
    if field.kind == DATE:
        return _date(text)
    return text


def _number(text: str) -> Any:
    """The number; the text itself where it is none, which its reader then refuses in words."""
    try:
        return int(text)
    except ValueError:
        pass
    try:
        number = float(text)
    except ValueError:
        return text
    return number if abs(number) < float("inf") else text


def _date(text: str) -> Any:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        return text


def value_at(values: Any, path: Path) -> Any:
    """The raw value at a place; None where there is none."""
    for part in path:
        if isinstance(part, int):
            if not isinstance(values, list) or not 1 <= part <= len(values):
                return None
            values = values[part - 1]
        elif isinstance(values, dict):
            values = values.get(part)
        else:
            return None
    return values


def with_value(text: str, path: Path, value: Any) -> str:
    """The text with a value set, or its key removed and the table around it too where nothing else is in it."""
    changed = set_value(text, path, value)
    if value is None and len(path) > 1 and isinstance(path[-2], str):
        around = value_at(parse(changed.encode("utf-8", "replace"), "text"), path[:-1])
        if around == {}:
            return set_value(changed, path[:-1], None)
    return changed
