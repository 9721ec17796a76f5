"""Safety cautions in our own words, one a topic. What is law or licensed work is deferred, not advised.

Documents are named from memory; their edition is for the reader to check.
"""

CHARGING_COLD = (
    "Do not charge while the battery inside is below the maker's stated limit, 0 °C if none is stated. Charging in "
    "the cold does lasting harm that cannot be seen. If the battery blocks the charge, that is a backstop, not a "
    "permission: do not get around it, and never warm a battery with a flame."
)
TAKES_CHARGE_COLD = (
    "On our bench this unit took a charge with the battery inside at {cold}, too cold for it. It does not stop such a "
    "charge for you: see to it yourself, each time."
)
NOT_SEEN_TO_REFUSE = (
    "No test has shown that this unit refuses a charge in the cold. Until one has, do not charge it when the battery "
    "inside may be below 5 °C."
)
TERMINALS = (
    "Tighten the terminals with a torque tool to the maker's figure, cable lug straight on the terminal, washers on "
    "top. Check again after the first outing. A warm post or a discoloured lug: stop using it. Take rings and watch "
    "off, and insulate the spanner."
)
HOT_TERMINALS = (
    "In this outing the terminals get as hot as {hot}. That burns a hand that stays on them: cover them, and let them "
    "cool before you touch them."
)
FUSE = (
    "Fit a fuse in every positive lead, as near to the battery as the code in force asks. It is sized for the cable, "
    "and can break far more than the short-circuit current. Each unit of a bank has its own. The battery's own "
    "protection is not the fuse."
)
SHORT_CIRCUIT = (
    "Thousands of amps flow through a dropped tool before any protection opens. Keep the terminals covered while you "
    "work and while you carry the battery."
)
SUDDEN_DARK = (
    "The battery can switch itself off without warning. Bilge pump, navigation lights, radio and trailer brakes must "
    "not hang on one untested unit alone."
)
CHARGER = "Use a charger with the maker's voltages. No equalising, no desulphating. Stay with it for the first charge."
MOUNTING = (
    "Fix the battery so that it cannot move in any direction. Keep it away from fuel, heat and sharp edges, with its "
    "terminals covered and air around it. Do not put it where people sleep without the enclosure the code asks for. "
    "Gas from a failed cell is poisonous and can burn: leave, let air in, call the fire service."
)
WATER = (
    "Keep it dry. A battery that was under water is not to be used or charged: take it outdoors if that can be done "
    "without risk, and have it looked at."
)
DAMAGE = "Swelling, a smell, a hiss, a dent or a fall: take it out of use."
STARTING = (
    "It is not a starting battery unless its starting current was measured and its maker allows it. We have shown "
    "neither here."
)
ALTERNATOR = (
    "The battery may switch off while an alternator charges it. The surge can damage the alternator and the "
    "electronics. Have the charging current limited to what the alternator may give, by licensed practice."
)
HEATER = (
    "Use only a heater that was fitted and tested with the unit. One without a thermostat and its own fuse can start "
    "a fire."
)
INDUCTIVE = (
    "A motor, winch or relay that is switched off throws back a voltage spike. A suppressor diode across its terminals "
    "clamps the spike: it protects against voltage only, never against too much current, and one put in the wrong way "
    "round is a short circuit."
)
MIXING = (
    "Join only units of one chemistry, kind, age and make, each fully charged before. Put units in series only where "
    "their maker allows it."
)
MAINS = (
    "The mains side of an inverter or a charger is for licensed practice and the code in force where you use it. So "
    "are its earthing, its transfer switch and shore power."
)
DEFER = (
    "This sheet advises; it certifies nothing. Licensed practice and the local code decide on gas, on vehicle brakes "
    "and lights, on boats that carry passengers, and on what an insurer or inspector must accept. Ask "
    "there for ABYC E-11 and E-13, ISO 13297 and ISO/TS 23625 for small craft, NFPA 70 article 551 and NFPA 1192 for "
    "recreational vehicles, IEC 62619 and UN 38.3 for the battery (from memory; check the edition)."
)
