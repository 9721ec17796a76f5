"""One input put to one reader: an answer, a message that helps, or a defect."""

from __future__ import annotations

import random
import resource
import signal
import time
import traceback
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from planner.errors import InputRefused
from tests.fuzz.subjects import SUBJECTS, scratch_folder

LONGEST_S = 5.0
LARGEST_MB = 500.0
LONGEST_MESSAGE = 2_000  # characters of one problem: what is longer is not read
HANGS_S = 60
STATUS = Path("/proc/self/status")


@dataclass(frozen=True, slots=True)
class Outcome:
    """refused : a message was given instead of an answer. defect : what is wrong with how the input was met, None if nothing."""

    refused: bool
    defect: str | None
    seconds: float
    megabytes: float


class Hangs(BaseException):
    """Not an Exception, so that nothing on the way takes it for a damaged file."""


def input_of(name: str, number: int, seed: int) -> bytes:
    """Input number `number` of a subject: always the same for a seed."""
    rng = random.Random(f"{seed} {name} {number}")
    subject = SUBJECTS[name]
    return subject.worse(rng, rng.choice(subject.good()))


def put_to(name: str, data: bytes) -> Outcome:
    """Read the input as its subject is read, in a folder of its own."""
    refused, defect = False, None
    with scratch_folder() as folder, _alarm():
        before_mb, began = _resident_mb(), time.process_time()
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                SUBJECTS[name].read(data, folder)
        except InputRefused as refusal:
            refused, defect = True, unhelpful(refusal)
        except MemoryError:
            defect = "out of memory"
        except Hangs:
            defect = f"no end after {HANGS_S} s: {traceback.format_exc(limit=-4)}"
        except Exception:  # noqa: BLE001  what is looked for here
            defect = traceback.format_exc(limit=-6)
        seconds, megabytes = time.process_time() - began, max(0.0, _peak_mb() - before_mb)
    if defect is None and seconds > LONGEST_S:
        defect = f"took {seconds:.1f} s"
    if defect is None and megabytes > LARGEST_MB:
        defect = f"took {megabytes:.0f} MB"
    return Outcome(refused, defect, seconds, megabytes)


def unhelpful(refusal: InputRefused) -> str | None:
    """What a refusal leaves out: file, key, value, what is accepted and how to mend are all there and can be read."""
    if not refusal.problems:
        return "refused without a problem"
    for problem in refusal.problems:
        parts = {
            "file": problem.file,
            "key": problem.key,
            "value": problem.value,
            "allowed": problem.allowed,
            "fix": problem.fix,
        }
        empty = [name for name, text in parts.items() if not text.strip()]
        if empty:
            return f"message without {', '.join(empty)}: {problem}"
        said = str(problem)
        if len(said) > LONGEST_MESSAGE:
            return f"message of {len(said)} characters: {said[:300]}"
        steering = sorted({hex(ord(letter)) for letter in said if steers(letter)})
        if steering:
            return f"message holds {', '.join(steering)}: {said[:300]!a}"
    return None


def steers(letter: str) -> bool:
    """Whether a character can steer a terminal or turn the direction of a line: Unicode categories Cc, and UAX #9's marks."""
    code = ord(letter)
    control = (code < 0x20 and letter not in "\n\t") or 0x7F <= code < 0xA0
    return control or 0x202A <= code <= 0x202E or 0x2066 <= code <= 0x2069 or 0xD800 <= code <= 0xDFFF


@contextmanager
def _alarm() -> Iterator[None]:
    def ring(signum: int, frame: object) -> None:
        raise Hangs

    former = signal.signal(signal.SIGALRM, ring)
    signal.alarm(HANGS_S)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, former)


def _resident_mb() -> float:
    """Memory held now; the peak is set back to it where the system allows."""
    try:
        Path("/proc/self/clear_refs").write_text("5")
        return _status_mb("VmRSS")
    except OSError:
        return _peak_mb()


def _peak_mb() -> float:
    if STATUS.exists():
        return _status_mb("VmHWM")
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def _status_mb(name: str) -> float:
    line = next(line for line in STATUS.read_text().splitlines() if line.startswith(f"{name}:"))
    return int(line.split()[1]) / 1024.0
