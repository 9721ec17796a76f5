"""Charge, energy and gaps of a log, summed block by block.

The current keeps the file's own sign here; `log_sign` settles it afterwards, so positive and negative
parts are summed apart. Between samples the trapezoid is used; the sums of a value held until the next
sample stand beside it, because a log alone does not say which of the two is right.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from planner.log_file import LogColumns
from planner.log_file.columns import FloatArray

GAP_FACTOR = 5.0  # an interval longer than this many usual ones is a gap
LISTED_GAPS = 1000  # gaps listed one by one; further ones are counted
SAMPLED = 20_000  # intervals looked at for the usual one in a large block
FLAT_RUN = 3  # equal readings in a row at the extreme value that make a flat top
FLAT_ELSEWHERE = 0.2  # share of equal neighbours below the top above which equal readings mean nothing


@dataclass(slots=True)
class Flow:
    """Sums over one direction of the current: charge [A s] and energy [J], by trapezoid and by hold."""

    charge_c: float = 0.0
    energy_j: float = 0.0
    charge_hold_c: float = 0.0
    energy_hold_j: float = 0.0

    def add(self, dt_s: FloatArray, current_a: FloatArray, voltage_v: FloatArray) -> None:
        """Add the samples of one block; current_a holds this direction's current, zero elsewhere."""
        power_w = current_a * voltage_v
        charge_hold_c, energy_hold_j = _product_sum(dt_s, current_a[:-1]), _product_sum(dt_s, power_w[:-1])
        self.charge_hold_c += charge_hold_c
        self.energy_hold_j += energy_hold_j
        # The trapezoid is the mean of holding the earlier and holding the later value.
        self.charge_c += 0.5 * (charge_hold_c + _product_sum(dt_s, current_a[1:]))
        self.energy_j += 0.5 * (energy_hold_j + _product_sum(dt_s, power_w[1:]))


@dataclass(slots=True)
class FlatTop:
    """Whether the extreme readings of a signal sit on one value while all others scatter."""

    value: float = -np.inf
    rows: int = 0
    runs: int = 0
    equal: int = 0
    compared: int = 0

    def add(self, values: FloatArray) -> None:
        """Look at one block (with the sample before it, for neighbours)."""
        top = float(values.max())
        if top > self.value:
            self.value, self.rows, self.runs = top, 0, 0
        at_top = values == self.value
        rows = int(np.count_nonzero(at_top))
        if rows:
            run = at_top[2:] & at_top[1:-1] & at_top[:-2]
            self.rows += rows
            self.runs += int(np.count_nonzero(run[1:] & ~run[:-1])) + int(run.size > 0 and run[0])
        floor = 0.05 * abs(self.value)
        pair = (values[1:] == values[:-1])[~at_top[1:] & (np.abs(values[1:]) > floor)]
        self.equal += int(np.count_nonzero(pair))
        self.compared += pair.size

    @property
    def clipped(self) -> bool:
        """Flat where the signal is highest, scattered where it is not."""
        return self.runs > 0 and self.compared >= FLAT_RUN and self.equal < FLAT_ELSEWHERE * self.compared


@dataclass(slots=True)
class Totals:
    """Running sums of a log. positive, negative : by the sign of the file's own current."""

    positive: Flow = field(default_factory=Flow)
    negative: Flow = field(default_factory=Flow)
    rows: int = 0
    first_s: float = 0.0
    last_s: float = 0.0
    current_sum_a: float = 0.0
    voltage_time_vs: float = 0.0
    current_low_a: float = np.inf
    current_high_a: float = -np.inf
    shortest_s: float = np.inf
    longest_s: float = 0.0
    gaps: list[tuple[float, float]] = field(default_factory=list)
    gap_count: int = 0
    repeats: int = 0
    top: FlatTop = field(default_factory=FlatTop)
    bottom: FlatTop = field(default_factory=FlatTop)
    _usual: list[tuple[float, int]] = field(default_factory=list)
    _carry: tuple[float, float, float] | None = None

    def add(self, block: LogColumns) -> None:
        """Take in one block; the last sample of the block before is joined to it."""
        time_s, voltage_v, current_a = _signals(block)
        self.current_sum_a += float(current_a.sum())
        if self._carry is None:
            self.first_s = float(time_s[0])
        else:
            time_s, voltage_v, current_a = (
                np.concatenate(([before], values))
                for before, values in zip(self._carry, (time_s, voltage_v, current_a), strict=True)
            )
        self._carry = float(time_s[-1]), float(voltage_v[-1]), float(current_a[-1])
        self.rows += block.rows
        self.repeats += block.repeats
        self.last_s = float(time_s[-1])
        self._extremes(current_a)
        if time_s.size > 1:
            dt_s = np.diff(time_s)
            self._intervals(time_s, dt_s)
            self._integrate(dt_s, voltage_v, current_a)

    @property
    def usual_s(self) -> float:
        """The usual interval [s]: median of the intervals, of blocks weighted by their length."""
        ordered = sorted(self._usual)
        half, seen = 0.5 * sum(count for _, count in ordered), 0
        for usual, count in ordered:
            seen += count
            if seen >= half:
                return usual
        return 0.0

    @property
    def duration_s(self) -> float:
        """From the first row to the last [s]."""
        return self.last_s - self.first_s

    def _extremes(self, current_a: FloatArray) -> None:
        self.current_low_a = min(self.current_low_a, float(current_a.min()))
        self.current_high_a = max(self.current_high_a, float(current_a.max()))
        if self.current_high_a > 0.0:
            self.top.add(current_a)
        if self.current_low_a < 0.0:
            self.bottom.add(-current_a)

    def _intervals(self, time_s: FloatArray, dt_s: FloatArray) -> None:
        self._usual.append((float(np.median(dt_s[:: max(1, dt_s.size // SAMPLED)])), dt_s.size))
        self.shortest_s = min(self.shortest_s, float(dt_s.min()))
        self.longest_s = max(self.longest_s, float(dt_s.max()))
        usual = self.usual_s
        if usual > 0.0 and float(dt_s.max()) > GAP_FACTOR * usual:
            for at in np.flatnonzero(dt_s > GAP_FACTOR * usual):
                self.gap_count += 1
                if len(self.gaps) < LISTED_GAPS:
                    self.gaps.append((float(time_s[at]), float(dt_s[at])))

    def _integrate(self, dt_s: FloatArray, voltage_v: FloatArray, current_a: FloatArray) -> None:
        self.voltage_time_vs += 0.5 * (_product_sum(dt_s, voltage_v[:-1]) + _product_sum(dt_s, voltage_v[1:]))
        if current_a.min() >= 0.0:
            self.positive.add(dt_s, current_a, voltage_v)
        elif current_a.max() <= 0.0:
            self.negative.add(dt_s, -current_a, voltage_v)
        else:
            self.positive.add(dt_s, np.maximum(current_a, 0.0), voltage_v)
            self.negative.add(dt_s, np.maximum(-current_a, 0.0), voltage_v)


def _signals(block: LogColumns) -> tuple[FloatArray, FloatArray, FloatArray]:
    if block.voltage_v is None or block.current_a is None:
        raise ValueError("a bench log has voltage and current")
    return block.time_s, block.voltage_v, block.current_a


def _product_sum(left: FloatArray, right: FloatArray) -> float:
    """Sum of products. Not `@`: its own threads would compete with the reader's for the same cores."""
    return float(np.einsum("i,i->", left, right))
