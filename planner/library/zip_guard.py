"""What a zip from a stranger may hold, checked before and while it is unpacked."""

from __future__ import annotations

import io
import stat
import struct
import zipfile
import zlib
from collections import Counter

from planner.errors import InputRefused, Problem
from planner.library.companions import ENDINGS
from planner.library.entries import COMPANION_KINDS, PROFILE_KINDS
from planner.library.file_name import file_key_with_ending

LARGEST_ZIP = 50_000_000
LARGEST_TOTAL = 150_000_000  # unpacked; below the memory a small computer has to spare
MOST_ENTRIES = 2_000
HIGHEST_RATIO = 200  # of unpacked to packed; a log of one unchanging value packs about 100 to 1
SMALL = 1_000_000  # below this size no ratio matters
LONGEST_HEADER = 46 + 300  # of one entry in the list at the end: fixed part, name and extra fields
SHOWN = 20  # problems told of one zip

_END = b"PK\x05\x06"
_ENCRYPTED = 0x1


def unpack(data: bytes, file: str) -> dict[str, bytes]:
    """The files of a zip as "kind/name.ending" -> bytes, nothing written anywhere.

    Raises InputRefused with what is wrong: no zip; too large, too many, or packed too tightly; a name
    that is absolute, leads elsewhere, is no plain file name, or comes twice; a link; an unknown kind of
    file; encrypted; damaged.
    """
    _check_end(data, file)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            infos = [info for info in archive.infolist() if not _is_kind_folder(info)]
            problems = _problems(infos, file)
            if problems:
                raise InputRefused(problems[:SHOWN])
            # A size that lies is found out: no more is unpacked than it says, and then the checksum is wrong.
            return {info.orig_filename: archive.read(info) for info in infos}
    except (
        zipfile.BadZipFile,
        NotImplementedError,
        EOFError,
        zlib.error,
        struct.error,
        OSError,
        ValueError,
    ) as error:
        raise _refusal(file, "(file)", "damaged, or no zip", "a sound zip", "Export it anew.") from error


def _check_end(data: bytes, file: str) -> None:
    """Bound the list of entries before it is read: a million of them would fill the memory."""
    if len(data) > LARGEST_ZIP:
        allowed = f"at most {LARGEST_ZIP // 1_000_000} MB"
        raise _refusal(file, "(file)", f"{len(data) // 1_000_000} MB", allowed, "Export fewer profiles.")
    at = data.rfind(_END, max(0, len(data) - 65_557))  # the end record with the longest comment
    if at < 0 or len(data) < at + 22:
        raise _refusal(file, "(file)", "no zip", "a zip made by export", "Choose another file.")
    size = struct.unpack_from("<L", data, at + 12)[0]
    if size > MOST_ENTRIES * LONGEST_HEADER or data[max(0, at - 20) : at][:4] == b"PK\x06\x07":
        raise _refusal(
            file, "(file)", "a longer list of files", f"at most {MOST_ENTRIES} files", "Export fewer."
        )


def _problems(infos: list[zipfile.ZipInfo], file: str) -> list[Problem]:
    found = [problem for info in infos if (problem := _problem(info, file)) is not None]
    often = Counter(info.orig_filename.casefold() for info in infos)
    found += [
        Problem(file, _shown(name), f"there {count} times", "each name once", "Remove one.")
        for name, count in often.items()
        if count > 1
    ]
    total = sum(info.file_size for info in infos)
    if len(infos) > MOST_ENTRIES:
        found.append(
            Problem(file, "(file)", f"{len(infos)} files", f"at most {MOST_ENTRIES}", "Export fewer.")
        )
    if total > LARGEST_TOTAL:
        allowed = f"at most {LARGEST_TOTAL // 1_000_000} MB unpacked"
        found.append(Problem(file, "(file)", f"{total // 1_000_000} MB unpacked", allowed, "Export fewer."))
    return found


def _problem(info: zipfile.ZipInfo, file: str) -> Problem | None:
    """What is wrong with one entry's description, the worst first."""
    name, mode = info.orig_filename, info.external_attr >> 16
    kind, _, last = name.partition("/")
    ending = "." + last.rpartition(".")[2]
    folders = ", ".join(PROFILE_KINDS + COMPANION_KINDS)
    endings = (".toml",) if kind in PROFILE_KINDS else ENDINGS.get(kind, ())

    def problem(found: str, allowed: str, fix: str) -> Problem:
        return Problem(file, _shown(name), found, allowed, fix)

    if mode and not stat.S_ISREG(mode) and stat.S_IFMT(mode):
        return problem("a link or device", "plain files", "Leave it out.")
    if kind not in PROFILE_KINDS + COMPANION_KINDS:
        return problem("in no folder of a library", f"in {folders}", "Leave it out, or put it there.")
    if last != file_key_with_ending(last):
        return problem("not a plain file name", "small letters, digits, - and _", "Rename it.")
    if ending not in endings:
        return problem(f"a {ending[:10]} file", ", ".join(endings), "Leave it out.")
    if info.flag_bits & _ENCRYPTED:
        return problem("encrypted", "not encrypted", "Make the zip without a password.")
    if info.compress_type not in {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}:
        return problem("packed in an unusual way", "stored or deflated", "Pack it anew.")
    if info.file_size > max(SMALL, HIGHEST_RATIO * info.compress_size):
        found = f"{info.file_size} bytes from {info.compress_size}"
        return problem(found, f"at most {HIGHEST_RATIO} to 1", "Leave it out.")
    return None


def _is_kind_folder(info: zipfile.ZipInfo) -> bool:
    return info.orig_filename.rstrip("/") in PROFILE_KINDS + COMPANION_KINDS and info.file_size == 0


def _shown(name: str) -> str:
    """A name from a stranger for a message: nothing in it can steer a terminal or turn the text round."""
    return ascii(name[:60])[1:-1] or "(no name)"


def _refusal(file: str, key: str, found: str, allowed: str, fix: str) -> InputRefused:
    return InputRefused([Problem(file, key, found, allowed, fix)])
