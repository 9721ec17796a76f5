"""What is assumed of a 12 V LFP drop-in before its record says otherwise (handbook class).

Every value has a spread, one standard deviation; the spread reaches the answer, and evidence narrows it. A spread
without a word of its own is an assumption without a source.
Resistances scale with 1 / capacity, as cells and their leads do.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planner.battery.curve import SOC_GRID
from planner.constants import COULOMB_PER_AH

# Rest voltage of one LFP/graphite cell on the discharge side at 25 degC, from memory of published low-rate
# curves: a knee below 10 % of charge, a shoulder near 65 %, a short rise when full. 2.5 V is the usual floor.
_CELL_SOC = (0.0, 0.005, 0.01, 0.02, 0.03, 0.05, 0.075, 0.10, 0.15, 0.20, 0.30, 0.40, 0.50, 0.60, 0.65, 0.70,
             0.80, 0.90, 0.97, 0.99, 1.0)  # fmt: skip
_CELL_V = (2.500, 2.640, 2.745, 2.865, 2.945, 3.060, 3.145, 3.185, 3.212, 3.232, 3.257, 3.272, 3.281, 3.290,
           3.300, 3.314, 3.321, 3.327, 3.333, 3.345, 3.390)  # fmt: skip
CELLS = 4
CURVE = CELLS * np.interp(SOC_GRID, _CELL_SOC, _CELL_V)  # V, one unit
CURVE_SHIFT_V = 0.04  # spread of the whole plateau: 10 mV a cell (assumption, no source)
KNEE_SOC = 0.10  # below it the shift fades to nothing, as all LFP cells end alike (assumption, no source)


@dataclass(frozen=True, slots=True)
class Guess:
    """A centre and a spread; logarithmic says that the spread is of the natural logarithm."""

    centre: float
    spread: float
    logarithmic: bool = True


METAL_OHM_AH = Guess(0.12, 0.40)  # leads, bolts and protection switch: 1.2 mohm at 100 Ah (common practice, no source)
CELL_OHM_AH = Guess(0.18, 0.35)  # four cells, within a second: 1.8 mohm at 100 Ah (common practice, no source)
# what is left of the sag after minutes, which decides where an inverter gives up on the plateau: 1.7 mohm at
# 100 Ah. An assumption without a source, and it matters: 1.2 mohm within 30 s was as plausible before, and moves an
# invented inverter case from holding its 45 min by a hair to cutting out after 43. Step tests at 60 s settle it.
PAIR_OHM_AH = Guess(0.17, 0.50)
PAIR_TAUS_S = (Guess(80.0, 0.7), Guess(8.0, 0.6), Guess(300.0, 0.6))  # assumption, likewise
# tau_D runs from about 200 s to 1,700 s on published simulated cells (from memory)
DIFFUSION_TAU_S = Guess(600.0, 0.55)
# what the gap's time constants are multiplied by, its steady value left alone. One diffusion element has 1; a porous
# electrode's gap is that of several in series (particles, electrolyte, current collector to separator), whose steady
# values add up while each recovers by its own R^2/D, so steady discharges do not tell how fast it comes and goes. The
# electrochemical model of the tests (Doyle-Fuller-Newman, Prada2013) in pulses of five minutes comes and goes as with
# 2.0, twice that of its own steady gap; the other way round is taken to be as likely (assumption)
GAP_LAG = Guess(1.0, 0.6)
# 20 kJ/mol in the circuit library's demonstration set, 33.8 for LFP charge transfer (charging; Electrochimica
# Acta 60 (2012) 269-273): the mixture of electrolyte and transfer lies between
ACTIVATION_J_PER_MOL = Guess(25e3, 7e3, logarithmic=False)
DIFFUSION_ACTIVATION_J_PER_MOL = Guess(25e3, 8e3, logarithmic=False)  # taken as that of the resistance, no source
# usable charge lost per kelvin below the coldest test, sag and gap aside (from memory: LFP gives about 85 to
# 90 % at -10 degC at low rate). Where only one temperature was tested the fall begins gently.
COLD_LOSS_PER_K = Guess(0.0040, 0.0015, logarithmic=False)
GENTLE_K = 10.0  # so far below a single test only (assumption, no source)
GENTLE_SHARE = 0.3  # of that loss per kelvin (assumption, no source: little is lost between 25 and 15 degC)
SPECIFIC_HEAT_J_PER_KG_K = Guess(1000.0, 0.15)  # cell packs, from memory
MASS_KG_PER_AH = Guess(0.115, 0.15)  # 12 V LFP drop-ins, common practice, no source
# still air, convection and radiation together 8 W/(m2 K) on 0.28 m2 at 11.2 kg: the hand calculation
# of `constants`
CONDUCTANCE_W_PER_K = Guess(2.24, 0.30)
CONDUCTANCE_MASS_KG = 11.2

# what the circuit itself may miss (common practice, no source)
VOLTAGE_MODEL_V = 0.010  # of a voltage on the plateau
CHARGE_MODEL = 0.003  # of a discharge's charge, relative
STEP_MODEL = 0.05  # of a step's resistance, relative

# between units of one kind, each of tested and buyer's (common practice, no source)
UNIT_SPREAD_CHARGE = 0.025
UNIT_SPREAD_RESISTANCE = 0.05  # likewise


def per_ah(guess: Guess, charge_c: float) -> float:
    """Centre of a resistance guess [ohm] for a unit of this charge."""
    return guess.centre / (charge_c / COULOMB_PER_AH)
