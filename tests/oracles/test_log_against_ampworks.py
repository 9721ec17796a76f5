"""Logs shipped with a general library of battery-test analysis, read by it and by the planner.

ampworks 0.1.0 (BSD 3-clause) holds logs of small cells: pulses at ten charges, a slow discharge with a rest every five
minutes, and low-rate curves. Its own analysis and plain integrals of its columns are what is compared with. Cells of
3 to 4 V are read here as they stand: what a log says of pulses does not depend on what was pulsed.
"""

from __future__ import annotations

from pathlib import Path

import ampworks
import numpy as np
import pandas as pd
import pytest

from planner.record.log_steps import READ_AFTER_S
from planner.record.log_summary import LogSummary, summarise_log

NAMES = {"Seconds": "Time (s)", "Volts": "Voltage (V)", "Amps": "Current (A)"}


def read(folder: Path, name: str) -> tuple[pd.DataFrame, LogSummary]:
    """The library's table, and what the planner says of it. The library counts charge as positive."""
    table = ampworks.datasets.load_datasets(name)
    path = folder / "log.csv"
    table[list(NAMES)].rename(columns=NAMES).to_csv(path, index=False)
    return table, summarise_log(path)


@pytest.fixture(scope="module")
def pulses(tmp_path_factory: pytest.TempPathFactory) -> tuple[pd.DataFrame, LogSummary]:
    return read(tmp_path_factory.mktemp("hppc"), "hppc/hppc_discharge")


def test_every_pulse_and_both_its_directions_are_found(pulses) -> None:
    table, said = pulses
    impedance = ampworks.hppc.extract_impedance(table, tmax=31.0)
    # a pulse is a step from rest whose current holds half a minute at most; the long discharges between are none
    edges = [step.start_s for step in said.steps]
    lengths = np.diff([*edges, said.duration_s])
    found = [
        (step.start_s, step.to_a)
        for step, length in zip(said.steps, lengths, strict=True)
        if abs(step.to_a) > 0.5 * abs(step.from_a) and length < 31.0 and abs(step.from_a) < 1e-6
    ]
    assert len(found) == len(impedance) == 18  # nine charges, a discharge and a charge pulse each
    starts = np.sort(impedance["Hours_0"].to_numpy()) * 3600.0
    # the library counts from the last row of the rest, one millisecond before the first row of the pulse
    assert np.array([start for start, _ in found]) == pytest.approx(starts, abs=0.0101)
    # 3.2 mA out and 2.4 mA in, turned: discharge is positive here
    by_time = impedance.sort_values("Hours_0")["AmpsAvg"].to_numpy()
    assert np.array([amps for _, amps in found]) == pytest.approx(-by_time, rel=1e-3)  # the meter's noise


@pytest.mark.parametrize("after_s", [0.1, 1.0, 10.0])
def test_resistance_after_each_time_is_the_librarys(pulses, after_s: float) -> None:
    table, said = pulses
    impedance = ampworks.hppc.extract_impedance(table, tmax=31.0, sample_times=[after_s])
    at = READ_AFTER_S.index(after_s)
    compared = 0
    for row in impedance.itertuples():
        step = min(said.steps, key=lambda step: abs(step.start_s - row.Hours_0 * 3600.0))
        ours = step.resistance_ohm[at]
        # our clock starts with the first row under load, the library's one millisecond before, with the last at rest:
        # at 0.1 s that is one part in a hundred of what has risen since the edge, and less later
        assert ours == pytest.approx(row.Ohms_2, rel=1e-3 if after_s < 1.0 else 1e-4)
        compared += 1
    assert compared == 18


def test_the_table_of_resistances_keeps_its_columns_apart(pulses) -> None:
    _, said = pulses
    rows = [line.split() for line in said.to_text().splitlines() if line.startswith("        8280")]
    assert rows and len(rows[0]) == 3 + len(READ_AFTER_S)


def test_net_charge_is_the_librarys(pulses) -> None:
    table, said = pulses
    net_ah = (said.discharge.charge_c - said.charge.charge_c) / 3600.0
    assert net_ah == pytest.approx(table["Ah"].abs().iloc[-1], rel=1e-6)  # both trapezoids; the file's own digits


def test_every_interruption_of_a_slow_discharge_is_found(tmp_path: Path) -> None:
    table, said = read(tmp_path, "ici/ici_discharge")
    _, rests = ampworks.ici.extract_params(table, radius=1.8e-6, return_all=True)  # a radius it asks for
    stops = [step for step in said.steps if step.to_a < 0.5 * step.from_a]
    assert len(stops) == len(rests)
    # hand: by the trapezoid of the file's own columns
    assert said.discharge.charge_c == pytest.approx(-np.trapezoid(table["Amps"], table["Seconds"]), rel=1e-9)


@pytest.mark.parametrize("cell", ["cell1_rough", "cell1_smooth", "cell2_rough", "cell2_smooth"])
def test_a_low_rate_curve_gives_its_charge_its_energy_and_itself(tmp_path: Path, cell: str) -> None:
    table, said = read(tmp_path, f"dqdv/{cell}")
    amp_hours, volts = table["Ah"].to_numpy(), table["Volts"].to_numpy()
    assert said.discharge.charge_c / 3600.0 == pytest.approx(amp_hours[-1], rel=1e-6)
    # hand: area under the library's curve of voltage over charge, constant current
    assert said.discharge.energy_j / 3600.0 == pytest.approx(np.trapezoid(volts, amp_hours), rel=1e-4)
    assert said.ending is not None
    assert said.ending.kind == "cutoff"
    charge, seen = np.array(said.curve).T
    assert len(charge) >= 20
    assert seen == pytest.approx(np.interp(charge / 3600.0, amp_hours, volts), abs=1e-6)  # rows of the file, no others
