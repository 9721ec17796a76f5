"""Raw logs of bench and boat: time, voltage, current and temperature from CSV, .xlsx and .parquet files."""

from planner.log_file.columns import LogColumns
from planner.log_file.reading import iter_blocks, read_columns, repeat_warnings

__all__ = ["LogColumns", "iter_blocks", "read_columns", "repeat_warnings"]
