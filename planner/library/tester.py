"""The tester's own name and terms, as every sheet ends with them: one text file in the library, empty by default."""

from __future__ import annotations

from pathlib import Path

from planner.errors import InputRefused, Problem

TESTER_FILE = "tester.txt"
LONGEST_TESTER = 1000  # characters; more would push the cautions off the buyer's page
MOST_BYTES = 4 * LONGEST_TESTER  # a letter of UTF-8 is four bytes at most (RFC 3629)
ACCEPTED = f"plain text in UTF-8, at most {LONGEST_TESTER:,} characters"


def tester_words(library: Path) -> str:
    """What the library's file says; "" where there is none. Raises InputRefused."""
    path = library / TESTER_FILE
    if not path.is_file():
        return ""
    with path.open("rb") as stream:
        data = stream.read(MOST_BYTES + 1)
    try:
        words = data.decode("utf-8-sig").strip()
    except UnicodeDecodeError:
        if len(data) <= MOST_BYTES:
            raise _refused(path, "not UTF-8", "Save it as UTF-8.") from None
        words = ""
    if len(data) > MOST_BYTES or len(words) > LONGEST_TESTER:
        raise _refused(path, "longer than that", "Shorten it: the buyer's page is one page.")
    return words


def _refused(path: Path, value: str, fix: str) -> InputRefused:
    return InputRefused([Problem(str(path), "(file)", value, ACCEPTED, fix)])
