"""The command line: python -m planner COMMAND and its arguments.

Exit status 0: an answer was given, whatever the verdict. 2: an input was refused, each problem on a line of standard
error. 130: interrupted. Never a traceback for what a user can mend.
"""

from __future__ import annotations

import argparse
import importlib
import logging
import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TextIO

from planner import __version__
from planner.commands import COMMANDS
from planner.errors import InputRefused, visible
from planner.library.disk_trouble import problem_of

REFUSED, INTERRUPTED = 2, 130


def build_parser() -> argparse.ArgumentParser:
    """The parser of all commands; none of what they compute with is imported."""
    parser = argparse.ArgumentParser(
        prog="python -m planner",
        description="Does a tested battery fit a need, and how is that known.",
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=__version__)
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name in COMMANDS:
        module = importlib.import_module(f"planner.commands.{name}")
        command = commands.add_parser(
            name.replace("_", "-"),
            help=module.HELP,
            description=module.HELP,
            epilog=f"Example: python -m planner {module.EXAMPLE}",
            allow_abbrev=False,
        )
        module.arguments(command)
        command.set_defaults(run=module.run)
    return parser


def main(words: Sequence[str] | None = None) -> int:
    """Run one command and return the exit status. words : the arguments, those of the process when None."""
    given = build_parser().parse_args(words)
    try:
        with _long_work_told():
            return _answered(given)
    except BrokenPipeError:
        # the reader went away: nothing is left to say, and the flush at exit must not say it either
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        _say("Interrupted.", sys.stderr)
        return INTERRUPTED
    except OSError as failure:
        place = failure.filename or getattr(given, "output", None) or "standard output"
        _say(str(problem_of(failure, str(place))), sys.stderr)
        return REFUSED


@contextmanager
def _long_work_told() -> Iterator[None]:
    """Tell somebody who waits at a terminal why it takes long; a pipe is told nothing."""
    if not sys.stderr.isatty():
        yield
        return
    log, handler = logging.getLogger("planner"), logging.StreamHandler(sys.stderr)
    before = log.level
    log.addHandler(handler)
    log.setLevel(logging.INFO)
    try:
        yield
    finally:
        log.removeHandler(handler)
        log.setLevel(before)


def _answered(given: argparse.Namespace) -> int:
    """Print the command's answer, or the problems of its inputs."""
    try:
        answer = given.run(given)
    except InputRefused as refusal:
        _say(getattr(refusal, "said", ""), sys.stdout)
        for problem in refusal.problems:
            _say(" ".join(str(problem).split()), sys.stderr)
        return REFUSED
    if answer:
        _say(answer, sys.stdout)
    return 0


def _say(text: str, stream: TextIO) -> None:
    """Write a text with one newline at its end, in letters the stream has."""
    if not text:
        return
    text, encoding = visible(text), stream.encoding or "ascii"
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        text = text.replace("°C", "degC").replace("…", "...").encode(encoding, "replace").decode(encoding)
    stream.write(text if text.endswith("\n") else text + "\n")
    stream.flush()
