"""What a record or an outing says of an odd log it names: columns, decimals, dates, interval, sign of discharge.

Every log is the same invented discharge, 20 A at 13 V for an hour (20 Ah, 260 Wh, hand calculation), written another way.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.battery.fit import fit_record
from planner.errors import InputRefused
from planner.log_file.stated import LogOptions
from planner.outing.reader import read_outing
from planner.record.log_summary import summarise_log
from planner.record.reader import read_record
from planner.record.schema import CapacityTest

ROWS = 361
OPENING = """
format = 1
name = "Unit with an odd log (invented)"
[[capacity_test]]
log = "odd.csv"
ended_by = "cutoff"
temperature = "25 degC"
"""
OUTING = """
format = 1
name = "Logged morning (invented)"
duration = "1 h"
ambient = "25 degC"
[[load]]
name = "boat"
kind = "recorded"
log = "odd.csv"
between_samples = "hold"
"""


def clock(row: int) -> str:
    return f"03/04/2026 {8 + row // 360:02d}:{row // 6 % 60:02d}:{row % 6 * 10:02d}"


def volts(row: int) -> float:
    return 13.1 - 0.2 * row / (ROWS - 1)


PLAIN = ("Time (s),Voltage (V),Current (A)", lambda k: f"{10 * k},{volts(k):.4f},20.0")
TURNED = ("Time (s),Voltage (V),Current (A)", lambda k: f"{10 * k},{volts(k):.4f},{-20.0 if k else 0.5}")
COLUMNS = ("Time (s),Pack [mV],Cell (V),Shunt (A),Spare (A)",
           lambda k: f"{10 * k},{1000 * volts(k):.1f},{volts(k) / 4:.4f},20.0,0.0")  # fmt: skip
COMMA = ("Time (s);Voltage (V);Current (A)", lambda k: f"{10 * k};{volts(k):.4f};20,0".replace(".", ","))
DATED = ("Time,Voltage (V),Current (A)", lambda k: f"{clock(k)},{volts(k):.4f},20.0")
UNTIMED = ("Voltage (V),Current (A)", lambda k: f"{volts(k):.4f},20.0")
ODD = {
    "columns": (COLUMNS, '{ columns = { voltage = "Pack [mV]", current = "Shunt (A)" } }'),
    "decimal comma": (COMMA, "{ decimal_comma = true }"),
    "date order": (DATED, '{ date_order = "day first" }'),
    "interval": (UNTIMED, '{ interval = "10 s" }'),
    "sign": (TURNED, '{ discharge = "negative" }'),
}


def write_log(folder: Path, log) -> None:
    heading, row = log
    (folder / "odd.csv").write_text("\n".join([heading, *map(row, range(ROWS))]) + "\n")


def record(folder: Path, options: str = "") -> CapacityTest:
    path = folder / "unit.toml"
    path.write_text(OPENING + (f"log_options = {options}\n" if options else ""))
    return read_record(path).capacity_tests[0]


def problems(call, *given) -> str:
    with pytest.raises(InputRefused) as refused:
        call(*given)
    return "\n".join(f"{one.key} {one.value} {one.allowed} {one.fix}" for one in refused.value.problems)


@pytest.mark.parametrize("name", ODD)
def test_an_odd_log_says_the_same_as_a_plain_one_once_its_options_are_stated(tmp_path, name):
    log, options = ODD[name]
    write_log(tmp_path, PLAIN)
    plain = record(tmp_path)
    write_log(tmp_path, log)
    found = record(tmp_path, options)
    assert found.charge_c == pytest.approx(plain.charge_c, rel=2e-3)  # the turned one begins with a row at rest
    assert found.charge_c == pytest.approx(20.0 * 3600.0, rel=2e-3)
    assert found.energy_j == pytest.approx(260.0 * 3600.0, rel=2e-3)
    assert found.mean_current_a == pytest.approx(20.0, rel=1e-6)


@pytest.mark.parametrize(("name", "words"), [
    ("columns", 'voltage = "Pack [mV]"'), ("date order", 'date_order = "day first"'), ("interval", "time"),
    ("sign", "discharge in log_options")])  # fmt: skip
def test_without_its_options_the_odd_log_is_refused_and_told_what_to_write(tmp_path, name, words):
    write_log(tmp_path, ODD[name][0])
    said = problems(record, tmp_path)
    assert words in said
    assert "log_options" in said or name == "interval"


@pytest.mark.parametrize("name", ODD)
def test_a_recorded_load_takes_the_same_options(tmp_path, name):
    log, options = ODD[name]
    write_log(tmp_path, log)
    path = tmp_path / "outing.toml"
    path.write_text(OUTING + f"log_options = {options}\n")
    (load,) = read_outing(path).loads
    assert load.log is not None
    assert max(load.log.current_a) == 20.0
    assert load.log.time_s[-1] <= 3600.0


def test_the_fit_of_an_odd_log_is_that_of_the_plain_one(tmp_path):
    write_log(tmp_path, PLAIN)
    record(tmp_path)
    plain = fit_record(read_record(tmp_path / "unit.toml")).charge_c
    write_log(tmp_path, COLUMNS)
    record(tmp_path, ODD["columns"][1])
    assert fit_record(read_record(tmp_path / "unit.toml")).charge_c == pytest.approx(plain, rel=1e-6)


def test_wrong_options_are_told_all_at_once(tmp_path):
    write_log(tmp_path, PLAIN)
    said = problems(record, tmp_path, '{ date_order = "year", interval = "-1 s", discharge = "down", columns = { amps = "A" } }')
    for key in ("log_options.date_order", "log_options.interval", "log_options.discharge", "log_options.columns.amps"):
        assert key.split(".", 1)[1] in said, key


def test_options_without_a_log_are_refused(tmp_path):
    path = tmp_path / "unit.toml"
    path.write_text(OPENING.replace('log = "odd.csv"', 'charge = "100 Ah"\ncurrent = "20 A"\ncutoff_voltage = "10 V"')
                    + "log_options = { decimal_comma = true }\n")  # fmt: skip
    assert "log_options" in problems(read_record, path)


def test_a_stated_sign_is_taken_as_stated_even_against_the_voltage(tmp_path):
    write_log(tmp_path, PLAIN)
    assert "without a discharge" in problems(record, tmp_path, '{ discharge = "negative" }')
    turned = summarise_log(tmp_path / "odd.csv", LogOptions(discharge="negative"))
    assert turned.discharge.charge_c == 0.0
    assert turned.charge.charge_c == pytest.approx(20.0 * 3600.0)
