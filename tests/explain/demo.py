"""The demo data assessed once for all tests of this room."""

from __future__ import annotations

import functools
from pathlib import Path

from planner.outing.reader import read_outing
from planner.record.reader import read_record
from planner.verdict.assess import Assessment, assess
from planner.winter.reader import read_climate

PROFILES = Path(__file__).resolve().parent.parent.parent / "profiles"
BATTERIES = tuple(sorted(path.stem for path in (PROFILES / "batteries").glob("*.toml")))
OUTINGS = tuple(sorted(path.stem for path in (PROFILES / "outings").glob("*.toml")))
CLIMATES = tuple(sorted(path.stem for path in (PROFILES / "climates").glob("*.toml")))
# every battery with every outing, the climates in turn, one pair in four without a climate
COMBINATIONS = tuple(
    (battery, outing, (*CLIMATES, None)[(i + j) % (len(CLIMATES) + 1)])
    for i, battery in enumerate(BATTERIES)
    for j, outing in enumerate(OUTINGS)
)


@functools.cache
def assessed(battery: str, outing: str, climate: str | None = None, draws: int = 8) -> Assessment:
    """The answer for one combination; few draws, as wording and keys do not depend on their number."""
    weather = None if climate is None else read_climate(PROFILES / "climates" / f"{climate}.toml")
    need = read_outing(PROFILES / "outings" / f"{outing}.toml")
    units = tuple(read_record(path) for path in need.bank.units) if need.bank else ()
    return assess(read_record(PROFILES / "batteries" / f"{battery}.toml"), need, weather, draws, units=units)
