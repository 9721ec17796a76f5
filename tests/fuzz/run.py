"""A run of hostile inputs over every reader.

    python -m tests.fuzz.run [--inputs 10000] [--seed 1] [--subject NAME] [--number N]

Prints a table: inputs, answers, refusals, longest time, largest memory, defects; then each kind of defect once, with
the number that makes the input again. Ends with 1 when there is a defect.
"""

from __future__ import annotations

import argparse
import sys
from collections import defaultdict

from tests.fuzz.subjects import SUBJECTS
from tests.fuzz.trial import Outcome, input_of, put_to


def plan(inputs: int) -> dict[str, int]:
    """How many inputs each subject gets, at least one."""
    shares = sum(subject.share for subject in SUBJECTS.values())
    return {name: max(1, round(inputs * subject.share / shares)) for name, subject in SUBJECTS.items()}


def tried(name: str, count: int, seed: int) -> list[Outcome]:
    """The outcomes of a subject's first inputs of a seed, after one good one that loads what is loaded late."""
    put_to(name, SUBJECTS[name].good()[0])
    return [put_to(name, input_of(name, number, seed)) for number in range(count)]


def kind_of_defect(defect: str) -> str:
    """Defects of one cause share this: the last line of a traceback's place and its error's type."""
    lines = [line.strip() for line in defect.strip().splitlines()]
    places = [line for line in lines if line.startswith("File ")]
    return f"{places[-1] if places else ''} {lines[-1][:60]}"


def main(words: list[str]) -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--inputs", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--subject", choices=SUBJECTS)
    parser.add_argument("--number", type=int, help="one input of the subject, written to standard output")
    given = parser.parse_args(words)
    if given.number is not None:
        sys.stdout.buffer.write(input_of(given.subject, given.number, given.seed))
        return 0
    defects: dict[str, list[tuple[str, int, str]]] = defaultdict(list)
    print(
        f"{'seed ' + str(given.seed):26s} {'inputs':>7s} {'answers':>8s} {'refused':>8s} {'longest s':>10s} {'largest MB':>11s} {'defects':>8s}"
    )
    for name, count in plan(given.inputs).items():
        if given.subject in (None, name):
            outcomes = tried(name, count if given.subject is None else given.inputs, given.seed)
            for number, outcome in enumerate(outcomes):
                if outcome.defect is not None:
                    defects[kind_of_defect(outcome.defect)].append((name, number, outcome.defect))
            _row(name, outcomes)
    for cause, found in defects.items():
        name, number, text = found[0]
        numbers = ", ".join(str(each[1]) for each in found[:5])
        print(
            f"\n{len(found)} x {cause}\n--subject '{name}' --seed {given.seed} --number {number}  (also {numbers})\n{text}"
        )
    return int(bool(defects))


def _row(name: str, outcomes: list[Outcome]) -> None:
    refused = sum(outcome.refused for outcome in outcomes)
    bad = sum(outcome.defect is not None for outcome in outcomes)
    answers = sum(not outcome.refused and outcome.defect is None for outcome in outcomes)
    longest, largest = max(o.seconds for o in outcomes), max(o.megabytes for o in outcomes)
    print(
        f"{name:26s} {len(outcomes):7d} {answers:8d} {refused:8d} {longest:10.2f} {largest:11.0f} {bad:8d}",
        flush=True,
    )


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
