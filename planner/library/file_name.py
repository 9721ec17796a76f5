"""A safe file name from any text people type; no path is ever made from the text itself."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from functools import lru_cache

LONGEST = 60  # characters; with a version's number, time and digest well below the usual limit of 255 bytes
READ = 10_000  # characters of a name that are looked at; the digest still covers all of it
# Device names that one widespread system opens instead of a file, with or without an ending.
RESERVED = frozenset(
    ["con", "prn", "aux", "nul", *(f"{port}{number}" for port in ("com", "lpt") for number in range(10))]
)
_SAFE = re.compile(r"[a-z0-9](?:[a-z0-9_-]{0,58}[a-z0-9])?")
_ENDING = re.compile(r"\.[a-z0-9]{1,8}")


def file_key(name: str) -> str:
    """The file name, without ending, for a profile's name.

    Lower-case ASCII letters, digits, hyphen and underscore, at most 60 characters, never empty, never a
    device name. Where letters or digits had to be left out, a few digits of the name's SHA-256 keep two
    names apart. A result is its own result.
    """
    plain = unicodedata.normalize("NFKD", name[:READ]).lower()
    kept = re.sub(r"[^a-z0-9_]+", "-", _without_marks(plain)).strip("-_")
    lost = len(name) > READ or any(letter.isalnum() and not letter.isascii() for letter in plain)
    if lost or len(kept) > LONGEST or not kept:
        digest = hashlib.sha256(name.encode("utf-8", "surrogatepass")).hexdigest()[:8]
        kept = f"{kept[: LONGEST - 9].strip('-_') or 'profile'}-{digest}"
    return f"{kept}-profile" if kept in RESERVED else kept


def is_file_key(text: str) -> bool:
    """Whether the text is a file name as `file_key` makes them."""
    return _SAFE.fullmatch(text) is not None and text not in RESERVED


def file_key_with_ending(name: str) -> str:
    """As `file_key`, the short ending kept: "Log 3.CSV" gives "log-3.csv". Folders before it are dropped."""
    last = re.split(r"[/\\]", name[-READ:])[-1]
    stem, dot, ending = last.rpartition(".")
    suffix = f"{dot}{ending}".lower()
    if not stem or not _ENDING.fullmatch(suffix):
        return file_key(last)
    return file_key(stem) + suffix


@lru_cache(maxsize=1024)
def spoken(name: str) -> str:
    """A name as it is compared, as far as it is looked at: no invisible characters, no case, single spaces."""
    visible = "".join(
        letter
        for letter in unicodedata.normalize("NFKC", name[:READ])
        if unicodedata.category(letter)[0] != "C" or letter.isspace()
    )
    return " ".join(visible.casefold().split())


def _without_marks(text: str) -> str:
    """The text without accents split off by decomposition, and without invisible characters."""
    return "".join(
        letter for letter in text if unicodedata.category(letter)[0] not in "MC" or letter.isspace()
    )


def unused(key: str, taken: set[str]) -> str:
    """The key, or the key with the first free number behind it."""
    number, found = 2, key
    while found in taken:
        tail = f"-{number}"
        found = key[: LONGEST - len(tail)].rstrip("-_") + tail
        number += 1
    return found
