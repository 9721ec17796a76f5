"""What a packed log would become, looked at before anything builds it: workbooks and Parquet files can be bombs.

A workbook is a zip of XML. Its parts are streamed once, block by block, so the look itself takes no memory.
"""

from __future__ import annotations

import re
import zipfile
import zlib
from pathlib import Path
from typing import Any

from planner.log_file.columns import refuse

MAX_UNPACKED_BYTES = 200_000_000  # a full sheet of 1,048,576 rows and six columns is about 150 MB of XML
MAX_UNPACK_RATIO = 200.0  # sheets of numbers pack about 5 to 20 times; a bomb a thousand times
MAX_TEXT_BYTES = (
    1 << 18
)  # of one cell or tag: a cell holds 32,767 characters (ECMA-376 applications), here with room
MAX_COLUMNS = 16_384  # of a sheet, the format's own limit as applications apply it
BLOCK = 1 << 20
UTF_16 = (b"\xff\xfe", b"\xfe\xff")  # no application writes it, and its tags would not be seen here
_CELL_OR_ROW = re.compile(rb"<(?:[A-Za-z0-9_.-]+:)?(?:(row)|c)[\s/>]")
MENDING = "It was not opened. Save a log of this size as CSV or Parquet."


def guard_workbook(path: Path) -> None:
    """Refuse a workbook that would unpack to far more than a log: in all, in one row, or in one cell."""
    try:
        with zipfile.ZipFile(path) as archive:
            parts = archive.infolist()
            _guard_size(path, sum(part.file_size for part in parts))
            for part in parts:
                if part.filename.lower().endswith((".xml", ".rels")):
                    _guard_part(path, archive, part)
    except (zipfile.BadZipFile, zlib.error, OSError, EOFError, ValueError, NotImplementedError, RuntimeError):
        refuse(path, "(file)", "not a workbook", "an .xlsx file", "Save the log again, or as CSV.")


def guard_parquet(path: Path, metadata: Any) -> None:
    """Refuse a Parquet file in which one block of one column unpacks to far more than it takes."""
    for group in range(metadata.num_row_groups):
        for place in range(metadata.num_columns):
            column = metadata.row_group(group).column(place)
            unpacked, packed = column.total_uncompressed_size, max(column.total_compressed_size, 1)
            if unpacked > MAX_UNPACKED_BYTES and unpacked / packed > MAX_UNPACK_RATIO:
                found = f"a block of {unpacked / 1e6:.0f} MB when unpacked, {unpacked / packed:.0f} times its size"
                refuse(
                    path, "(file)", found, _allowed(), "It was not opened. Write it in smaller row groups."
                )


def _guard_size(path: Path, unpacked: int) -> None:
    ratio = unpacked / max(path.stat().st_size, 1)
    if unpacked > MAX_UNPACKED_BYTES or ratio > MAX_UNPACK_RATIO:
        found = f"{unpacked / 1e6:.0f} MB when unpacked, {ratio:.0f} times its size"
        refuse(path, "(file)", found, _allowed(), MENDING)


def _allowed() -> str:
    return f"at most {MAX_UNPACKED_BYTES / 1e6:.0f} MB and {MAX_UNPACK_RATIO:.0f} times"


def _guard_part(path: Path, archive: zipfile.ZipFile, part: zipfile.ZipInfo) -> None:
    """Stream one part; every block handled ends before a tag, so that none is cut."""
    left, cells = b"", 0
    with archive.open(part) as stream:
        while True:
            block = stream.read(BLOCK)
            whole = left + block
            cut = max(whole.rfind(b"<"), 0) if block else len(whole)
            done, left = whole[:cut], whole[cut:]
            if max(map(len, [left, *done.split(b"<")])) > MAX_TEXT_BYTES:
                refuse(path, "(file)", "a cell of more than 32,767 characters", "cells of a sheet", MENDING)
            if b"<!DOCTYPE" in done or done.startswith(UTF_16):
                refuse(
                    path,
                    "(file)",
                    "XML of an unusual kind (UTF-16, or a document type)",
                    "a plain sheet",
                    MENDING,
                )
            cells = _cells_of_a_row(path, done, cells)
            if not block:
                return


def _cells_of_a_row(path: Path, xml: bytes, cells: int) -> int:
    """Cells of the row that is open where the block ends. cells : likewise where it begins."""
    for match in _CELL_OR_ROW.finditer(xml):
        cells = 0 if match.group(1) else cells + 1
        if cells > MAX_COLUMNS:
            refuse(path, "(file)", f"a row of more than {MAX_COLUMNS} cells", "rows of a sheet", MENDING)
    return cells
