"""The text of a TOML file to plain Python values, or one refusal saying why not."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from planner.errors import InputRefused, Problem

LARGEST_FILE = 2_000_000  # bytes; the largest record with full curves is well below
LONGEST_KEY = 16  # dotted parts of one key

# TOML's own tokens, as far as needed to tell a key's dots from those of texts, comments and numbers.
# A text that is never closed takes the rest (no TOML from there on), so no part is read twice.
_TOKEN = re.compile(
    r"""
    "{3}(?:[^\\]|\\.)*?"{3,5} | "{3}.* | '{3}.*?'{3,5} | '{3}.*
    | "(?:[^"\\\n]|\\[^\n])*+(?:"|[^\n]*) | '[^'\n]*+(?:'|[^\n]*)
    | \#[^\n]* | [A-Za-z0-9_-]+ | [ \t]+ | .
    """,
    re.DOTALL | re.VERBOSE,
)


def read_file(path: Path) -> bytes:
    """The bytes of a TOML file. Raises InputRefused for no file, a folder, an unreadable or large one."""
    try:
        if not path.is_file():
            found = "a folder" if path.is_dir() else "not there"
            raise refusal(str(path), found, "a TOML file", "Check the path and its spelling.")
        with path.open("rb") as stream:
            return stream.read(LARGEST_FILE + 1)  # one byte more than allowed tells that it is too large
    except OSError as error:
        reason = error.strerror or "not readable"
        raise refusal(str(path), reason, "a readable file", "Check the path and its permissions.") from error


def parse(data: bytes, file: str) -> dict[str, Any]:
    """The values of a TOML text. Raises InputRefused: more than 2 MB, not UTF-8, not TOML."""
    if len(data) > LARGEST_FILE:
        fix = 'Put long logs into a CSV file and name it with log = "…".'
        raise refusal(file, "too large", f"at most {LARGEST_FILE // 1_000_000} MB", fix)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise refusal(file, f"not UTF-8 at byte {error.start}", "UTF-8 text", "Save it as UTF-8.") from error
    if _longest_key(text) > LONGEST_KEY:
        raise refusal(file, "a key of many dotted parts", f"at most {LONGEST_KEY} parts", "Shorten the key.")
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise refusal(file, "nested too deeply", "TOML 1.0", "Remove the needless brackets.") from error
    except tomllib.TOMLDecodeError as error:
        raise refusal(file, "not TOML", "TOML 1.0", f"{str(error)[:200]}.") from error
    except ValueError as error:  # Python's own limit of 4,300 digits, or a day such as 2026-02-30
        fix = "A number is too long or a date does not exist."
        raise refusal(file, "not TOML", "TOML 1.0", fix) from error


def refusal(file: str, value: str, allowed: str, fix: str) -> InputRefused:
    """The refusal of a file as a whole."""
    return InputRefused([Problem(file, "(file)", value, allowed, fix)])


def _longest_key(text: str) -> int:
    """Most dotted parts of any one key.

    The standard parser needs memory by the square of the parts: 100,000 of them, a file of 200 kB,
    took all of a computer's. So they are counted before it sees the text.
    """
    longest, parts, after_dot = 0, 0, False
    for match in _TOKEN.finditer(text):
        token = match[0]
        if token == ".":
            after_dot = parts > 0
        elif token[0] in " \t":
            continue
        elif token[0] in "\"'" or token[0].isalnum() or token[0] in "_-":
            parts = parts + 1 if after_dot else 1
            after_dot = False
            longest = max(longest, parts)
        else:
            parts, after_dot = 0, False
    return longest
