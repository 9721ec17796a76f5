from pathlib import Path

import numpy as np
import pytest

from planner.errors import InputRefused
from planner.outing.build import build_timeline
from planner.outing.motor import motor_current_a
from planner.outing.reader import read_outing
from tests.outing.texts import TOP

LIGHTS = """[[load]]
name = "lights"
kind = "current"
current = "2.1 A"
use = [{ start = "1 h", length = "5 h" }]
"""
FULL = """format = 1
name = "Invented reservoir morning"
duration = "6 h"
ambient = "12 degC"
cell_temperature = "10 degC"
start_charge = "95 %"
cutoff_voltage = "10.5 V"
cutoff_delay = "3 s"
terminal_limit = "70 degC"
questions = ["energy", "peak_current"]

[get_home]
distance = "4.2 km"
speed = "3 km/h"
current = "18 A"
factor = 1.25

[[load]]
name = "bow motor"
kind = "motor"
full_current = "52 A"
table = [[0.35, "2.6 A"], [0.5, "7.2 A"], [1.0, "52 A"]]
use = [
  { start = "30 min", length = "4 h", speed = 0.5, on = "5 min", off = "10 min" },
  { start = "0 min", length = "20 min", speed = 0.8 },
]
start_surge = { current = "150 A", duration = "0.4 s" }
evidence = "logged"
spread = "12 %"

[[load]]
name = "kettle"
kind = "inverter"
power = "900 W"
efficiency = "88 %"
idle_power = "12 W"
cutout_voltage = "11.0 V"
cutout_delay = "2 s"
restart_voltage = "12.4 V"
use = [{ start = "2 h", length = "12 min" }]

[[load]]
name = "bilge pump"
kind = "resistive"
power = "60 W"
voltage = "12 V"
safety = true
use = [{ start = "0 s", length = "1 h" }]

[wiring]
gauge = "AWG 4"
length = "2.5 m"
contact_resistance = "1.0 mohm"
insulation = "105 degC"
engine_space = true
bundled = 3
fuse = "125 A"
fuse_class = "T"
fuse_interrupt = "20 kA"
allowed_drop = "5 %"

[bank]
parallel = 2
series = 1
lead_resistances = ["1.2 mohm", "2.6 mohm"]
start_charges = ["90 %", "100 %"]
"""

def test_every_key_arrives_in_si(read):
    need = read(FULL)
    assert (need.duration_s, need.start_soc, need.cutoff_v, need.cutoff_delay_s) == (21600.0, 0.95, 10.5, 3.0)
    assert (need.ambient_k, need.cell_k) == (pytest.approx(285.15), pytest.approx(283.15))
    assert need.terminal_limit_k == pytest.approx(343.15)
    assert need.questions == ("energy", "peak_current")
    # Hand calculation: 4200 m / (3/3.6 m/s) x 18 A x 1.25 = 113400 A s, that is 31.5 Ah.
    assert need.get_home.charge_c == pytest.approx(113_400.0, rel=1e-12)
    wiring = need.wiring
    # ASTM B258: AWG 4 is 21.15 mm2.
    assert wiring.area_m2 == pytest.approx(21.15e-6, abs=0.005e-6)
    assert (wiring.length_m, wiring.contact_resistance_ohm, wiring.bundled) == (2.5, 0.001, 3)
    assert (wiring.fuse_a, wiring.fuse_class, wiring.fuse_interrupt_a) == (125.0, "T", 20_000.0)
    assert (wiring.allowed_drop, wiring.engine_space) == (0.05, True)
    assert need.bank.lead_resistances_ohm == (0.0012, 0.0026)
    assert need.bank.start_charges == (0.9, 1.0)
    assert need.warnings == ()


def test_loads_arrive_with_their_uses_in_order_of_time(read):
    motor, kettle, pump = read(FULL).loads
    assert [use.start_s for use in motor.uses] == [0.0, 1800.0]
    assert (motor.uses[1].on_s, motor.uses[1].off_s, motor.uses[1].speed) == (300.0, 600.0, 0.5)
    assert (motor.evidence, motor.spread, motor.surge.duration_s) == ("logged", 0.12, 0.4)
    assert motor_current_a(motor, 0.5) == 7.2
    assert (kettle.efficiency, kettle.idle_w, kettle.cutout_v, kettle.restart_v) == (0.88, 12.0, 11.0, 12.4)
    # Hand calculation: 12 V squared over 60 W is 2.4 ohm.
    assert pump.resistance_ohm == pytest.approx(2.4, rel=1e-12)
    assert (pump.safety, motor.safety) == (True, False)


def test_absent_keys_take_their_stated_defaults(read):
    need = read(TOP + LIGHTS)
    assert need.cell_k == need.ambient_k
    assert (need.start_soc, need.cutoff_v, need.cutoff_delay_s) == (1.0, None, 1.0)
    assert (need.questions, need.wiring, need.bank, need.get_home) == (None, None, None, None)
    assert need.reserve_fraction is None
    assert (need.loads[0].evidence, need.loads[0].spread) == ("stated", 0.15)


@pytest.mark.parametrize(
    ("evidence", "spread"),
    [("measured", 0.02), ("logged", 0.05), ("stated", 0.15), ("handbook", 0.25), ("claimed", 0.25)],
)
def test_spread_follows_the_evidence(read, evidence, spread):
    assert read(TOP + LIGHTS + f'evidence = "{evidence}"\n').loads[0].spread == spread


def test_a_load_without_use_is_on_all_the_time_and_says_so(read):
    need = read(TOP + LIGHTS.replace('use = [{ start = "1 h", length = "5 h" }]\n', ""))
    assert [(use.start_s, use.length_s) for use in need.loads[0].uses] == [(0.0, 21600.0)]
    assert any("load.1" in warning and "whole outing" in warning for warning in need.warnings)


MOTOR = '[[load]]\nname = "m"\nkind = "motor"\nuse = [{ start = "0 s", length = "1 h", speed = 0.5 }]\n'


def test_a_motor_without_a_reading_at_its_speed_is_handbook(read):
    need = read(TOP + MOTOR + 'full_current = "52 A"\nevidence = "measured"\n')
    assert (need.loads[0].evidence, need.loads[0].spread) == ("handbook", 0.25)
    assert any("cube" in warning for warning in need.warnings)
    covered = read(TOP + MOTOR + 'table = [[0.5, "7.2 A"], [1.0, "52 A"]]\nevidence = "measured"\n')
    assert (covered.loads[0].evidence, covered.loads[0].spread) == ("measured", 0.02)
    assert covered.warnings == ()


def test_wiring_without_contact_resistance_is_taken_as_nothing_and_says_so(read):
    need = read(TOP + LIGHTS + '[wiring]\narea = "25 mm^2"\nlength = "1 m"\n')
    assert need.wiring.contact_resistance_ohm == 0.0
    assert need.wiring.area_m2 == pytest.approx(25e-6, rel=1e-12)
    assert any("contact resistance" in warning for warning in need.warnings)


def test_a_start_surge_below_what_is_drawn_after_it_is_asked_about(read):
    def told(surge):
        load = f'[[load]]\nname = "pump"\nkind = "current"\ncurrent = "10 A"\nstart_surge = {{ current = "{surge}", duration = "1 s" }}\n'
        return " ".join(read(TOP + load).warnings)

    assert "start_surge.current of 5 A is below the 10 A drawn after it" in told("5 A")
    assert "start_surge" not in told("25 A")


def test_a_log_switching_too_often_is_refused(refused):
    load = LIGHTS.replace("{ start", '{ on = "1 ms", off = "1 ms", start')
    assert "2,000,000" in refused(TOP + load)["load"].allowed


# ---- refusals ----

BASE = TOP + LIGHTS


@pytest.mark.parametrize(
    ("text", "key"),
    [
        (BASE.replace("6 h", "0 h"), "duration"),
        (BASE.replace("6 h", "-6 h"), "duration"),
        (BASE.replace('ambient = "12 degC"\n', ""), "ambient"),
        (BASE.replace('name = "Invented morning"\n', ""), "name"),
        (TOP, "load"),
        (BASE.replace('"5 h"', '"5 h 1 min"'), "load.1.use.1"),
        (BASE.replace('"5 h"', '"0 h"'), "load.1.use.1.length"),
        (BASE.replace('start = "1 h", ', ""), "load.1.use.1.start"),
        (BASE.replace('[{ start = "1 h", length = "5 h" }]', "[]"), "load.1.use"),
        (BASE.replace("}]", '}, { start = "90 min", length = "1 min" }]'), "load.1.use"),
        (BASE.replace('"5 h" }', '"5 h", on = "5 min" }'), "load.1.use.1.on"),
        (BASE.replace('"5 h" }', '"5 h", off = "5 min" }'), "load.1.use.1.off"),
        (BASE.replace('"5 h" }', '"5 h", speed = 0.5 }'), "load.1.use.1.speed"),
        (BASE.replace('"2.1 A"', '"-2.1 A"'), "load.1.current"),
        (BASE.replace('"2.1 A"', '"2.1 Ah"'), "load.1.current"),
        (BASE.replace('"2.1 A"', "2.1"), "load.1.current"),
        (BASE.replace('kind = "current"', 'kind = "curent"'), "load.1.kind"),
        (BASE.replace("current = ", "curent = "), "load.1.curent"),
        (BASE + 'evidence = "guessed"\n', "load.1.evidence"),
        (BASE + 'start_surge = { current = "0 A", duration = "1 s" }\n', "load.1.start_surge.current"),
        (TOP + 'start_charge = "101 %"\n' + LIGHTS, "start_charge"),
        (TOP + 'questions = ["energi"]\n' + LIGHTS, "questions.1"),
        (TOP + "questions = []\n" + LIGHTS, "questions"),
        (TOP + 'reserv = "20 %"\n' + LIGHTS, "reserv"),
        (TOP + 'reserve = "120 %"\n' + LIGHTS, "reserve"),
        (FULL.replace("questions", 'reserve = "20 %"\nquestions'), "get_home"),
        (FULL.replace('"88 %"', '"101 %"'), "load.2.efficiency"),
        (FULL.replace('"88 %"', '"4 %"'), "load.2.efficiency"),
        (FULL.replace('efficiency = "88 %"\n', ""), "load.2.efficiency"),
        (FULL.replace("12.4 V", "10.9 V"), "load.2.restart_voltage"),
        (FULL.replace('cutout_voltage = "11.0 V"\n', ""), "load.2.cutout_delay"),
        (FULL.replace('voltage = "12 V"\n', ""), "load.3.resistance"),
        (FULL.replace("speed = 0.8", "speed = 1.1"), "load.1.use.2.speed"),
        (FULL.replace("speed = 0.8", "speed = -0.1"), "load.1.use.2.speed"),
        (FULL.replace(", speed = 0.8", ""), "load.1.use.2.speed"),
        (FULL.replace('[0.5, "7.2 A"]', '[0.3, "7.2 A"]'), "load.1.table"),
        (FULL.replace('[0.5, "7.2 A"]', '[0.5, "2.2 A"]'), "load.1.table"),
        (FULL.replace("0.35,", "0.0,"), "load.1.table"),
        (TOP + LIGHTS + f"spread = 1{'0' * 45}\n", "load.1.spread"),
        (TOP + LIGHTS.replace('"current"', '"motor"').replace('current = "2.1 A"', "table = []"), "load.1.table"),
        (FULL.replace('full_current = "52 A"', 'full_current = "60 A"'), "load.1.full_current"),
        (TOP + MOTOR, "load.1.full_current"),
        (FULL.replace('length = "2.5 m"', 'length = "0 m"'), "wiring.length"),
        (FULL.replace('gauge = "AWG 4"\n', ""), "wiring.gauge"),
        (FULL.replace('gauge = "AWG 4"\n', 'gauge = "AWG 4"\narea = "25 mm^2"\n'), "wiring.gauge"),
        (FULL.replace('"AWG 4"', '"4"'), "wiring.gauge"),
        (FULL.replace("parallel = 2", "parallel = 9"), "bank.parallel"),
        (FULL.replace("parallel = 2", "parallel = 3"), "bank.lead_resistances"),
        (FULL.replace("parallel = 2", "parallel = 3"), "bank.start_charges"),
        (FULL.replace("series = 1", "series = 5"), "bank.series"),
        (FULL.replace("series = 1", 'series = 1\nunits = ["outing.toml"]'), "bank.units"),
    ],
)
def test_what_cannot_be_meant_is_refused_at_its_key(refused, text, key):
    problems = refused(text)
    assert key in problems
    assert problems[key].fix


def test_thrust_is_a_force_and_no_current(refused):
    problems = refused(TOP + MOTOR + 'thrust = "55 lbf"\n')
    assert "thrust is a force; enter a current reading per speed" in problems["load.1.thrust"].fix
    problems = refused(TOP + MOTOR + 'full_current = "55 lbf"\n')
    assert "force; enter a current reading per speed" in problems["load.1.full_current"].fix


def test_an_unknown_key_names_the_nearest(refused):
    assert "cell_temperature" in refused(TOP + 'cell_temprature = "5 degC"\n' + LIGHTS)["cell_temprature"].fix


def test_all_problems_of_a_file_come_at_once(refused):
    text = FULL.replace("6 h", "0 h").replace('"88 %"', '"188 %"').replace("parallel = 2", "parallel = 0")
    assert {"duration", "load.2.efficiency", "bank.parallel"} <= refused(text).keys()


def test_a_use_beyond_the_outing_is_told_in_hours_as_it_was_typed(read):
    with pytest.raises(InputRefused) as refused:
        read(TOP + LIGHTS.replace('length = "5 h"', 'length = "47 h"'))
    (problem,) = refused.value.problems
    assert (problem.value, problem.allowed) == ("from 60 min to 48 h", "an end by 6 h")


def test_uses_that_touch_do_not_overlap(read):
    need = read(BASE.replace('[{ start = "1 h", length = "5 h" }]', (
        '[{ start = "0.1 h", length = "4 h" }, { start = "4.1 h", length = "0.1 h" }]'
    )))  # fmt: skip
    assert len(need.loads[0].uses) == 2  # 0.1 h + 4 h is above 4.1 h by 2e-12 s of rounding


def test_an_outing_read_from_file_builds(read):
    line = build_timeline(read(FULL))
    assert line.names == ("bow motor", "kettle", "bilge pump")
    assert line.edges_s[-1] == 21600.0
    # 4 h in cycles of 15 min are 16 switch-ons, and one at the start.
    assert np.count_nonzero(line.current_start_a[0] == 150.0) >= 17


def test_a_missing_file_is_refused(tmp_path: Path):
    with pytest.raises(InputRefused):
        read_outing(tmp_path / "nowhere.toml")


@pytest.mark.parametrize(("power", "voltage"), [("24 W", "0.000012 V"), ("24 W", "0.01 V"), ("1e-6 W", "12 V")])
def test_a_rating_that_makes_no_resistor_is_refused(tmp_path, power, voltage):
    # by hand: R = V²/P is 6 pohm, 4.2 µohm and 144 Mohm
    text = FULL.replace('power = "60 W"\nvoltage = "12 V"', f'power = "{power}"\nvoltage = "{voltage}"')
    assert text != FULL
    path = tmp_path / "outing.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputRefused) as refused:
        read_outing(path)
    assert any(problem.key in ("load.3.power", "load.3.voltage") for problem in refused.value.problems)
