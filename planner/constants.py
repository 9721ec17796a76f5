"""Physical constants and unit factors, each with its source. SI throughout."""

ZERO_CELSIUS_K = 273.15  # exact, SI definition of the degree Celsius
SECONDS_PER_MINUTE = 60.0  # exact
SECONDS_PER_HOUR = 3600.0  # exact
SECONDS_PER_DAY = 86400.0  # exact
COULOMB_PER_AH = 3600.0  # exact, NIST SP 811 appendix B.8
JOULE_PER_WH = 3600.0  # exact, NIST SP 811 appendix B.8
GAS_CONSTANT = 8.314462618  # J/(mol K), CODATA 2018, exact since the 2019 SI

COPPER_RESISTIVITY_OHM_M = 0.017241e-6  # at 20 degC, IEC 60028 annealed copper
COPPER_ALPHA_PER_K = 0.00393  # at 20 degC, IEC 60028
COPPER_REFERENCE_K = 293.15  # the temperature both copper values hold at

NOMINAL_UNIT_V = 12.8  # four LFP cells of 3.2 V, common data-sheet convention (from memory)

# --- winter: where the battery lives and how it is charged ---------------------------------------
CHARGE_MIN_TEMPERATURE_K = 273.15  # no charging below 0 degC: Petzl & Danzer, J. Power Sources 254 (2014) 80
BATTERY_SPECIFIC_HEAT_J_PER_KG_K = 1000.0  # typical of LFP packs (from memory); one published demo uses 745
MASS_PER_CHARGE_KG_PER_C = 11.2 / 360000.0  # 11.2 kg per 100 Ah, common for 12 V LFP drop-ins, no source
# Battery of 11 kg, 0.28 m2 of free surface. Open or in a cabin: natural convection about 3.3 and radiation
# about 4.7 W/(m2 K) give 8 x 0.28. Box: 25 mm of foam at 0.033 W/(m K) over 0.45 m2, in series with its
# outside film of 8 W/(m2 K), less the face it stands on. Hand calculation; convection by Churchill & Chu.
PLACE_CONDUCTANCE_W_PER_K = {"outdoors": 2.24, "box": 0.55, "cabin": 2.24}
CHARGE_EFFICIENCY = 0.99  # charge out over charge in of LFP cells, from memory
CHARGE_TAPER_S = 900.0  # near full the current falls with this time constant; common practice, no source
CHARGE_TAIL = 0.05  # "full": the current has fallen to this share; common practice, no source
SOLAR_CHARGE_V = 13.6  # voltage a panel's power is turned into current at; common practice, no source
SOLAR_PATH_EFFICIENCY = 0.90  # controller, cable and dirt; common practice, no source
PANEL_POWER_PER_K = -0.0037  # crystalline silicon, 1/K; the example value of the pvlib documentation
GROUND_ALBEDO = 0.2  # grass, the customary default of irradiance models (from memory); snow would give more
SELF_DISCHARGE_PER_MONTH = 0.02  # of capacity in 30 days, not compounded, from memory
DAY_ANOMALY_K = 4.0  # standard deviation of a day's mean about its season, mid-latitudes (from memory)
DAY_ANOMALY_CORRELATION = 0.7  # of one day with the next (from memory)
