"""Invented climates whose verdict hangs on the charge gate, as the files a user would write."""

from __future__ import annotations

from pathlib import Path

from planner.winter.reader import read_climate
from planner.winter.schema import Climate

_WARM = '["18 degC", "8 delta_degC"]'


def climate(folder: Path, winter: str, use: str = "2 Ah") -> Climate:
    """Three winter months of the mean and swing given, the rest warm; shore charging at midday, nothing stored for months."""
    months = ", ".join([winter, winter, *[_WARM] * 9, winter])
    path = folder / "climate.toml"
    path.write_text(
        f"""format = 1
name = "Place (invented)"
place = "outdoors"
use_per_day = "{use}"
monthly = [{months}]
[[charge]]
kind = "shore"
current = "20 A"
from = "9 h"
until = "15 h"
""",
        encoding="utf-8",
    )
    return read_climate(path)


def frost_now_and_then(folder: Path) -> Climate:
    """Cells below freezing in some charging hours, warm in others of nearly every day."""
    return climate(folder, '["2 degC", "14 delta_degC"]')


def frost_for_months(folder: Path) -> Climate:
    """Cells far below freezing in every charging hour of three months."""
    return climate(folder, '["-12 degC", "6 delta_degC"]', use="6 Ah")


def cool_for_weeks(folder: Path) -> Climate:
    """Never freezing, and for three months never as warm as 8 degC."""
    return climate(folder, '["4 degC", "5 delta_degC"]')


def never_cold(folder: Path) -> Climate:
    """Warm all year."""
    return climate(folder, _WARM)


def no_charger(folder: Path, winter: str = '["-12 degC", "6 delta_degC"]', use: str = "0 Ah") -> Climate:
    """Three winter months of the mean and swing given, and nothing that says when it is charged."""
    found = climate(folder, winter, use)
    assert found.path is not None
    text = found.path.read_text(encoding="utf-8")
    found.path.write_text(text[: text.index("[[charge]]")], encoding="utf-8")
    return read_climate(found.path)


def panel_at_night(folder: Path) -> Climate:
    """Three cold months, and a panel stated for hours in which the sun is never up."""
    found = no_charger(folder)
    assert found.path is not None
    text = found.path.read_text(encoding="utf-8").replace("monthly =", "latitude = 50.0\nsun_hours = [" + '"3 h", ' * 12 + "]\nmonthly =")
    panel = '[[charge]]\nkind = "solar"\npeak_power = "100 W"\nfrom = "22 h"\nuntil = "2 h"\n'
    found.path.write_text(text + panel, encoding="utf-8")
    return read_climate(found.path)


def summer_charger(folder: Path) -> Climate:
    """Three cold months, and a charger in the warm ones alone; next to nothing drawn."""
    found = climate(folder, '["-12 degC", "6 delta_degC"]', use="0 Ah")
    assert found.path is not None
    text = found.path.read_text(encoding="utf-8")
    found.path.write_text(text + "months = [5, 6, 7, 8]\n", encoding="utf-8")
    return read_climate(found.path)
