"""An alternator joined straight to the battery, without a charger: its regulator holds a voltage, not a current."""

from __future__ import annotations

from dataclasses import dataclass

# Most a fuse in an alternator's own output conductor may be over its rated current, unless it limits itself:
# 33 CFR 183.460.
OUTPUT_FUSE_FACTOR = 1.20


@dataclass(frozen=True, slots=True)
class DirectCharge:
    """What stands on both sides of the cable.

    set_v : what the regulator holds [V]. rest_v : the bank at rest when charging begins [V]. source_ohm : the bank
    once its pairs have answered [ohm]. rated_a : of the alternator, None when not stated [A].
    """

    set_v: float
    rest_v: float
    source_ohm: float
    rated_a: float | None = None

    def unlimited_a(self, wiring_ohm: float) -> float:
        """Current if the alternator could give any [A]; 0 where it holds less than the battery at rest.

        wiring_ohm : cable both ways and contacts [ohm]. The alternator's own leads are not known and left out, so the
        figure is a high estimate. Source: Ohm's law.
        """
        return max(0.0, (self.set_v - self.rest_v) / (self.source_ohm + wiring_ohm))

    def current_a(self, wiring_ohm: float) -> float:
        """The same, no more than the alternator is rated for [A]."""
        free = self.unlimited_a(wiring_ohm)
        return free if self.rated_a is None else min(free, self.rated_a)

    def runs_flat_out(self, wiring_ohm: float) -> bool:
        """Whether nothing holds it below its rating; with no rating stated nothing is known to."""
        free = self.unlimited_a(wiring_ohm)
        return free > 0.0 and (self.rated_a is None or free >= self.rated_a)

    @property
    def output_fuse_a(self) -> float | None:
        """Largest fuse of the alternator's own output conductor [A]. Source: 33 CFR 183.460."""
        return None if self.rated_a is None else OUTPUT_FUSE_FACTOR * self.rated_a
