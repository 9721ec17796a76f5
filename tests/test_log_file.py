"""Raw logs: what is read, what is asked about, what is refused. Expected numbers are worked by hand."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.errors import InputRefused
from planner.log_file import iter_blocks, read_columns
from planner.log_file.headings import split_heading

PLAIN = "Time (s),Voltage (V),Current (A)\n0,13.2,5\n1,13.1,6\n2,13.0,7\n"


def _write(folder: Path, content: str | bytes, name: str = "log.csv") -> Path:
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def _refusal(path: Path, **choices: object) -> str:
    with pytest.raises(InputRefused) as caught:
        read_columns(path, **choices)  # type: ignore[arg-type]
    assert all(
        p.file == path.name and p.key and p.value and p.allowed and p.fix for p in caught.value.problems
    )
    return str(caught.value)


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_the_delimiter_is_found(tmp_path: Path, delimiter: str) -> None:
    log = read_columns(_write(tmp_path, PLAIN.replace(",", delimiter)))
    assert log.time_s.tolist() == [0.0, 1.0, 2.0]
    assert log.voltage_v is not None and log.voltage_v.tolist() == [13.2, 13.1, 13.0]
    assert log.current_a is not None and log.current_a.tolist() == [5.0, 6.0, 7.0]
    assert log.temperature_k is None
    assert log.headings == {"time": "Time (s)", "voltage": "Voltage (V)", "current": "Current (A)"}


def test_byte_mark_comments_blank_lines_and_any_order_of_columns_are_read(tmp_path: Path) -> None:
    text = "\ufeff# a bench\n\nCurrent [mA],T (degC),Note,U [mV],Elapsed (min)\n1500,25,ok,13000,0\n# mid\n1500,26,,12990,1\n"
    log = read_columns(_write(tmp_path, text))
    assert log.time_s.tolist() == [0.0, 60.0]
    assert log.current_a is not None and log.current_a.tolist() == [1.5, 1.5]
    assert log.voltage_v is not None and log.voltage_v.tolist() == pytest.approx([13.0, 12.99], rel=1e-15)
    assert log.temperature_k is not None and log.temperature_k.tolist() == pytest.approx([298.15, 299.15])


@pytest.mark.parametrize(
    ("unit", "number", "kelvin"),
    # NIST SP 811 appendix B.8: 50 degF is 10 degC.
    [("°C", "10", 283.15), ("degC", "10", 283.15), ("°F", "50", 283.15), ("degF", "50", 283.15)],
)
def test_both_scales_of_temperature_are_read(tmp_path: Path, unit: str, number: str, kelvin: float) -> None:
    text = f"Time (h),Current (A),Temp ({unit})\n0,1,{number}\n1,1,{number}\n"
    log = read_columns(_write(tmp_path, text))
    assert log.time_s.tolist() == [0.0, 3600.0]
    # Two roundings of a double at 283 K: well under 1e-10.
    assert log.temperature_k is not None and log.temperature_k == pytest.approx(kelvin, abs=1e-10)


def test_units_may_stand_in_a_second_row_and_in_other_encodings(tmp_path: Path) -> None:
    second = read_columns(_write(tmp_path, "Time;Voltage;Current;Temp\nms;V;A;°C\n0;13;1;20\n500;13;1;20\n"))
    assert second.time_s.tolist() == [0.0, 0.5]
    western = "Time (s)\tCurrent (A)\tTemp (°C)\r\n0\t1\t20\r\n1\t2\t21\r\n"
    for encoding in ("cp1252", "utf-16"):
        log = read_columns(_write(tmp_path, western.encode(encoding), "log.txt"))
        assert log.temperature_k is not None and log.temperature_k.tolist() == pytest.approx([293.15, 294.15])


def test_an_empty_temperature_is_unknown_and_an_empty_current_is_refused(tmp_path: Path) -> None:
    log = read_columns(_write(tmp_path, "Time (s),Current (A),Temp (degC)\n0,1,25\n1,1,\n"))
    assert log.temperature_k is not None and np.isnan(log.temperature_k).tolist() == [False, True]
    assert 'row 3, "Current (A)" is empty' in _refusal(
        _write(tmp_path, "Time (s),Current (A),Temp (degC)\n0,1,25\n1,,25\n")
    )


def test_a_heading_without_unit_is_asked_about_with_its_candidates(tmp_path: Path) -> None:
    path = _write(tmp_path, "Time (s),Voltage,Current\n0,13,1\n1,13,1\n")
    message = _refusal(path, required=("time", "voltage", "current"))
    for words in ('"Voltage [V]" or "Voltage [mV]"', '"Current [A]" or "Current [mA]"'):
        assert words in message
    told = read_columns(path, columns={"voltage": "Voltage [V]", "current": "Current [mA]"})
    assert told.voltage_v is not None and told.voltage_v.tolist() == [13.0, 13.0]
    assert told.current_a is not None and told.current_a.tolist() == [0.001, 0.001]


def test_two_columns_for_one_quantity_are_refused_until_one_is_named(tmp_path: Path) -> None:
    path = _write(tmp_path, "Time (s),V1 (V),V2 (V),Current (A)\n0,13.2,3.3,1\n1,13.1,3.2,1\n")
    message = _refusal(path)
    assert '"V1 (V)" (column 2)' in message and '"V2 (V)" (column 3)' in message
    told = read_columns(path, columns={"voltage": "V2 (V)"})
    assert told.voltage_v is not None and told.voltage_v.tolist() == [3.3, 3.2]
    assert '"V9 (V)"' in _refusal(path, columns={"voltage": "V9 (V)"})
    twice = _write(tmp_path, "Time (s),Current (A),Current (A)\n0,1,2\n1,1,2\n")
    assert "2 columns" in _refusal(twice)


def test_a_unit_that_contradicts_its_heading_is_never_read_as_that_quantity(tmp_path: Path) -> None:
    message = _refusal(_write(tmp_path, "Time (s),Current (Ah)\n0,1\n1,2\n"))
    assert '"Current (Ah)"' in message and "Ah" in message
    with pytest.raises(InputRefused):
        read_columns(_write(tmp_path, "Time (s),Current (V)\n0,1\n1,2\n"))


def test_decimal_commas_are_read_only_when_declared(tmp_path: Path) -> None:
    path = _write(tmp_path, "Time (s);Voltage (V);Current (A)\n0;13,2;5\n1;13,1;5\n")
    message = _refusal(path)
    assert "13.2 (decimal comma)" in message and "132 (comma between thousands)" in message
    log = read_columns(path, decimal_comma=True)
    assert log.voltage_v is not None and log.voltage_v.tolist() == [13.2, 13.1]
    assert '"13.2"' in _refusal(_write(tmp_path, PLAIN.replace(",", ";")), decimal_comma=True)


def test_decimal_commas_in_quotes_between_commas_are_read_when_declared(tmp_path: Path) -> None:
    rows = '"Time (s)","Voltage (V)","Current (A)"\n"0","13,2","5,25"\n"1,5","13,1","5"\n'
    log = read_columns(_write(tmp_path, rows), decimal_comma=True)
    assert log.voltage_v is not None and log.current_a is not None
    assert (log.time_s.tolist(), log.voltage_v.tolist(), log.current_a.tolist()) == ([0.0, 1.5], [13.2, 13.1], [5.25, 5.0])
    # without quotes nothing tells a decimal comma from one between fields
    _refusal(_write(tmp_path, "Time (s),Current (A)\n0,5,2\n1,5,3\n"), decimal_comma=True)


def test_a_spreadsheets_line_that_names_the_separator_is_no_heading(tmp_path: Path) -> None:
    log = read_columns(_write(tmp_path, "sep=;\r\nTime (s);Current (A)\r\n0;5\r\n2;5\r\n"))
    assert log.time_s.tolist() == [0.0, 2.0]
    assert "row 4" in _refusal(_write(tmp_path, "sep=;\nTime (s);Current (A)\n0;5\n2;x\n"))


TITLE = "Bench 2;;;\nStart time;14.03.2026 08:00;;\nSerial;17;;\n\n"
ROWS = "Date/Time;Pack (V);Load (A);Remark\n2026-03-14 08:00:00;13.2;20;\n2026-03-14 08:00:10;13.1;20;current limit, volts\n"


def test_what_a_logger_writes_above_the_headings_is_left_out_and_told(tmp_path: Path) -> None:
    for text in (TITLE + ROWS, TITLE.replace(";", "") + ROWS, TITLE.replace(";", ",") + ROWS.replace("(V);", "(V) ;")):
        log = read_columns(_write(tmp_path, text))
        assert log.time_s.tolist() == [0.0, 10.0] and log.current_a is not None and log.current_a.tolist() == [20.0, 20.0]
        assert log.warnings == ("3 lines above the headings left out.",)
    assert 'row 7, "Load (A)"' in _refusal(_write(tmp_path, TITLE + ROWS.replace(";20;current", ";x;current")))
    assert read_columns(_write(tmp_path, ROWS)).warnings == ()


def test_headings_above_rows_with_remarks_are_the_headings(tmp_path: Path) -> None:
    """Two remarks that name quantities are no headings, and a first row of foreign words is asked about as it stands."""
    text = "Uhrzeit;Strom;A;B\n06:00:00;20;voltage low;current high\n06:00:10;20;;\n"
    assert '"Uhrzeit" (column 1)' in _refusal(_write(tmp_path, text))


def test_a_title_in_a_workbook_is_left_out_as_well(tmp_path: Path) -> None:
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (["Bench 2"], ["Serial", 17], [], ["Time (s)", "Current (A)"], [0, 20], [10, 21]):
        sheet.append(row)
    book.save(tmp_path / "log.xlsx")
    log = read_columns(tmp_path / "log.xlsx")
    assert log.current_a is not None and log.current_a.tolist() == [20.0, 21.0]
    assert log.warnings == ("2 lines above the headings left out.",)


def test_empty_rows_of_a_spreadsheet_are_no_rows(tmp_path: Path) -> None:
    log = read_columns(_write(tmp_path, "Time (s);Current (A);Note\n0;20;\n;;\n10;21;\n;;\n ; ;\n"))
    assert log.time_s.tolist() == [0.0, 10.0]
    assert "row 4" in _refusal(_write(tmp_path, "Time (s);Current (A);Note\n0;20;\n;;\n10;;\n"))


def test_iso_clock_times_count_from_the_first_row(tmp_path: Path) -> None:
    rows = ["2026-03-14T23:59:59.5", "2026-03-15T00:00:01"]
    log = read_columns(_write(tmp_path, "Timestamp,Current (A)\n" + "".join(f"{r},1\n" for r in rows)))
    assert log.time_s.tolist() == [0.0, 1.5]  # across midnight, by hand
    slashed = _write(tmp_path, "Timestamp,Current (A)\n2026/03/14 10:00:00,1\n2026/03/14 10:00:03,1\n")
    assert read_columns(slashed).time_s.tolist() == [0.0, 3.0]
    zoned = ["2026-03-29T01:59:59+01:00", "2026-03-29T03:00:00+02:00"]
    log = read_columns(_write(tmp_path, "Timestamp,Current (A)\n" + "".join(f"{r},1\n" for r in zoned)))
    assert log.time_s.tolist() == [0.0, 1.0]  # summer time begins: one second passes


@pytest.mark.parametrize(
    "stamp", ["03/14/2026 09:58:00 AM", "14.03.2026 09:58", "09:58", "14/03/26 09:58:00", "2026.03.14 09:58:00"]
)
def test_a_clock_that_is_not_read_is_not_asked_for_a_unit_of_seconds(tmp_path: Path, stamp: str) -> None:
    path = _write(tmp_path, f"Time,Current (A)\n{stamp},1\n{stamp},1\n")
    for message in (_refusal(path), _refusal(path, columns={"time": "Time"})):
        assert f'"Time", which begins with "{stamp}"' in message and "2026-03-14 09:58:00" in message
        assert "no AM or PM" in message and "Time [s]" not in message
    beside = _write(tmp_path, "Date,Time,Current (A)\n14.03.2026,09:58,1\n14.03.2026,09:59,1\n")
    assert '"Time", which begins with "09:58"' in _refusal(beside) and '"Date", which' not in _refusal(beside)


def test_an_ambiguous_date_is_refused_with_both_readings(tmp_path: Path) -> None:
    path = _write(tmp_path, "Date,Current (A)\n03/04/2026 10:00:00,1\n03/04/2026 10:00:02,1\n")
    message = _refusal(path)
    assert "2026-04-03 10:00:00 (day first)" in message and "2026-03-04 10:00:00 (month first)" in message
    for order in ("day first", "month first"):
        assert read_columns(path, date_order=order).time_s.tolist() == [0.0, 2.0]
    clear = _write(tmp_path, "Date,Current (A)\n13/04/2026 10:00:00,1\n14/04/2026 10:00:00,1\n")
    assert read_columns(clear).time_s.tolist() == [0.0, 86400.0]


SPLIT = "Date,Time,Current (A)\n"


def test_a_date_and_a_time_in_columns_of_their_own_make_one_clock(tmp_path: Path) -> None:
    log = read_columns(_write(tmp_path, SPLIT + "2026-03-14,23:59:58,1\n2026-03-14,23:59:59,1\n2026-03-15,00:00:03,2\n"))
    assert log.time_s.tolist() == [0.0, 1.0, 5.0]  # across midnight, by hand
    assert log.headings["time"] == "Date + Time"
    slashed = _write(tmp_path, SPLIT + "13/04/2026,9:00:00,1\n14/04/2026,9:00:01,1\n")
    assert read_columns(slashed).time_s.tolist() == [0.0, 86401.0]


def test_a_date_of_its_own_that_can_be_read_two_ways_is_asked_about(tmp_path: Path) -> None:
    path = _write(tmp_path, SPLIT + "03/04/2026,10:00:00,1\n04/04/2026,10:00:02,1\n")
    message = _refusal(path)
    assert "2026-04-03 10:00:00 (day first)" in message and "2026-03-04 10:00:00 (month first)" in message
    assert read_columns(path, date_order="day first").time_s.tolist() == [0.0, 86402.0]
    assert read_columns(path, date_order="month first").time_s.tolist() == [0.0, 31 * 86400.0 + 2.0]  # March has 31 days


def test_elapsed_time_goes_before_a_date_and_a_named_time_stands_alone(tmp_path: Path) -> None:
    both = _write(tmp_path, "Date,Time (s),Current (A)\n2026-03-14,0,1\n2026-03-15,2,1\n")
    assert read_columns(both).time_s.tolist() == [0.0, 2.0]
    named = _write(tmp_path, SPLIT + "2026-03-14,10:00:00,1\n2026-03-15,10:00:05,1\n")
    assert read_columns(named, columns={"time": "Time"}).time_s.tolist() == [0.0, 5.0]


def test_a_clock_without_date_that_passes_midnight_asks_for_the_date(tmp_path: Path) -> None:
    message = _refusal(_write(tmp_path, "Time,Current (A)\n23:59:59,1\n00:00:01,1\n"))
    assert "passed midnight" in message


def test_a_workbook_gives_date_and_time_cells_of_their_own(tmp_path: Path) -> None:
    import datetime

    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (
        ("Date", "Time", "Current (A)"),
        (datetime.date(2026, 3, 14), datetime.time(23, 59, 59), 1.0),
        (datetime.date(2026, 3, 15), datetime.time(0, 0, 1), 2.0),
    ):
        sheet.append(row)
    path = tmp_path / "log.xlsx"
    book.save(path)
    assert read_columns(path).time_s.tolist() == [0.0, 2.0]


def test_time_running_backwards_is_refused_by_row_and_a_repeat_is_a_warning(tmp_path: Path) -> None:
    assert "row 4 is 1 s before the row above" in _refusal(
        _write(tmp_path, "Time (s),Current (A)\n0,1\n5,1\n4,1\n6,1\n")
    )
    log = read_columns(_write(tmp_path, "Time (s),Current (A)\n0,1\n1,1\n1,9\n2,9\n"))
    assert log.repeats == 1 and "same time" in log.warnings[0]
    assert log.time_s.tolist() == [0.0, 1.0, 1.0, 2.0]


def test_the_problems_of_a_file_come_together_ten_in_words_and_the_rest_by_number(tmp_path: Path) -> None:
    path = _write(tmp_path, "Time (s),Current (A)\n" + "".join(f"{i},x\n" for i in range(37)))
    with pytest.raises(InputRefused) as caught:
        read_columns(path)
    assert len(caught.value.problems) == 11
    assert 'row 2, "Current (A)" is "x"' in str(caught.value) and "and 27 more" in str(caught.value)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("", "empty"),
        ("# only a comment\n", "comments only"),
        ("Time (s),Current (A)\n", "headings only"),
        ("Time (s),Current (A)\n0,1\n", "1 row"),
        ("Time (s),Current (A)\n0,1\n1\n", "row 3"),
        ("Time (s),Current (A)\n0,1\n1,2,3\n", "row 3"),
        ("Time (s),Current (A)\n0,1\n1,nan\n", "row 3"),
        ("Time (s),Current (A)\n0,1\n1,1e300\n", "row 3"),
        ("Time (s),Speed (km)\n0,1\n1,2\n", "current"),
        ('Time (s),Current (A)\n0,1\n1,"2\n', "row"),
        (b"\x00\x01\x02" * 50, "not text"),
    ],
)
def test_a_damaged_text_file_is_refused_with_one_clear_message(
    tmp_path: Path, content: str | bytes, words: str
) -> None:
    assert words in _refusal(_write(tmp_path, content))


def test_what_is_not_a_log_file_is_refused(tmp_path: Path) -> None:
    assert "not there" in _refusal(tmp_path / "missing.csv")
    assert "a folder" in _refusal(tmp_path)
    assert ".doc" in _refusal(_write(tmp_path, PLAIN, "log.doc"))


def test_a_log_without_time_column_needs_an_interval(tmp_path: Path) -> None:
    path = _write(tmp_path, "Current (A)\n1\n2\n3\n")
    assert "time" in _refusal(path)
    assert read_columns(path, interval_s=2.0).time_s.tolist() == [0.0, 2.0, 4.0]
    assert "not both" in _refusal(_write(tmp_path, PLAIN), interval_s=2.0)


def _workbook(path: Path, rows: list[list[object]]) -> Path:
    import openpyxl

    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    book.save(path)
    return path


def test_workbooks_and_parquet_files_give_the_same_as_text(tmp_path: Path) -> None:
    import pyarrow as pa
    from pyarrow import parquet

    text = read_columns(_write(tmp_path, PLAIN))
    rows: list[list[object]] = [
        ["Time (s)", "Voltage (V)", "Current (A)"],
        [0, 13.2, 5],
        [1, 13.1, 6],
        [2, 13.0, 7],
    ]
    sheet = read_columns(_workbook(tmp_path / "log.xlsx", rows))
    columns = {str(name): [row[i] for row in rows[1:]] for i, name in enumerate(rows[0])}
    parquet.write_table(pa.table(columns), tmp_path / "log.parquet")
    for log in (sheet, read_columns(tmp_path / "log.parquet")):
        assert log.headings == text.headings
        for name in ("time_s", "voltage_v", "current_a"):
            assert np.array_equal(getattr(log, name), getattr(text, name))
    rows[2][1] = "full"
    assert '"full"' in _refusal(_workbook(tmp_path / "text.xlsx", rows))


def test_blocks_of_a_long_log_join_to_the_whole(tmp_path: Path) -> None:
    rows = 300_000
    lines = "".join(f"{0.1 * k:.1f},{13 + k % 7 / 1000:.3f},{k % 50}\n" for k in range(rows))
    path = _write(tmp_path, "Time (s),Voltage (V),Current (A)\n" + lines)
    blocks = list(iter_blocks(path))
    assert len(blocks) > 1
    whole = read_columns(path)
    assert whole.rows == rows
    assert np.allclose(
        whole.time_s, 0.1 * np.arange(rows), rtol=0.0, atol=1e-9
    )  # one decimal of 4e4: rounding
    assert whole.current_a is not None and np.array_equal(whole.current_a, np.arange(rows) % 50)
    # A fault in the last row is found and named though earlier blocks were sound.
    with path.open("a") as stream:
        stream.write("30000.0,x,1\n")
    assert f"row {rows + 2}" in _refusal(path)


def test_the_libraries_for_files_are_loaded_only_when_a_file_is_read() -> None:
    import subprocess

    code = "import sys, planner.record.log_summary; print([m for m in ('pyarrow','pandas','openpyxl','scipy') if m in sys.modules])"
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert shown.stdout.strip() == "[]"


@given(name=st.text(st.characters(categories=("L", "N", "Zs")), min_size=1), square=st.booleans())
def test_a_heading_comes_apart_into_name_and_unit(name: str, square: bool) -> None:
    text = f"{name} [V]" if square else f"{name} (V)"
    assert split_heading(text) == (name.strip(), "V")


@given(order=st.permutations(["Time (s)", "Voltage (V)", "Current (A)", "Temp (degC)"]))
def test_the_order_of_columns_changes_nothing(
    tmp_path_factory: pytest.TempPathFactory, order: list[str]
) -> None:
    values = {"Time (s)": (0, 1), "Voltage (V)": (13, 12), "Current (A)": (5, 6), "Temp (degC)": (20, 21)}
    rows = [order, *([str(values[h][k]) for h in order] for k in (0, 1))]
    text = "\n".join(",".join(row) for row in rows)
    log = read_columns(_write(tmp_path_factory.mktemp("order"), text))
    assert log.time_s.tolist() == [0.0, 1.0]
    assert log.voltage_v is not None and log.voltage_v.tolist() == [13.0, 12.0]
    assert log.current_a is not None and log.current_a.tolist() == [5.0, 6.0]


def test_a_message_repeats_no_more_of_headings_than_helps(tmp_path):
    path = tmp_path / "run.csv"
    for heads in (f"Time {'x' * 9000},Voltage (V),Current (A)", ",".join(f"Probe {k}" for k in range(500))):
        path.write_text(f"{heads}\n{','.join('1' for _ in heads.split(','))}\n", encoding="utf-8")
        with pytest.raises(InputRefused) as refused:
            read_columns(path)
        assert all(len(str(problem)) < 2500 for problem in refused.value.problems)
