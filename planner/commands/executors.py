"""Where a command's work is shared out: here, processes of this machine, or a Dask cluster."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing import active_children, get_context
from typing import Any

from planner.errors import InputRefused, Problem

MOST_WORKERS = 256
REACHED_WITHIN_S = 20.0
ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


@dataclass(frozen=True, slots=True)
class Crew:
    """Who works: an executor, None for this process, and how many hands it has at the moment."""

    executor: Executor | None
    hands: Callable[[], int]


def add_workers(parser: argparse.ArgumentParser) -> None:
    """--workers and --cluster."""
    parser.add_argument(
        "--workers", type=_workers, default=1, metavar="N", help="processes to share the work"
    )
    parser.add_argument(
        "--cluster",
        metavar="ADDRESS",
        help="scheduler of a Dask cluster instead, such as tcp://127.0.0.1:8786",
    )


@contextmanager
def crew(given: argparse.Namespace) -> Iterator[Crew]:
    """Who --workers or --cluster asks for. Raises InputRefused when a cluster cannot be reached or used."""
    if given.cluster is not None:
        if given.workers != 1:
            fix = "Leave one of them out."
            raise InputRefused(
                [Problem("arguments", "--workers", "given beside --cluster", "one of them", fix)]
            )
        with _cluster(given.cluster) as found:
            yield found
    elif given.workers == 1:
        yield Crew(None, lambda: 1)
    else:
        with _processes(given.workers) as executor:
            yield Crew(executor, lambda: given.workers)


@contextmanager
def _processes(workers: int) -> Iterator[Executor]:
    """Processes of one arithmetic thread each: as many threads as processors in every one would only wait."""
    before = {name: os.environ.get(name) for name in ONE_THREAD}
    for (
        name
    ) in ONE_THREAD:  # read when numpy is loaded, which is before anything of ours runs in a new process
        os.environ.setdefault(name, "1")
    others = set(active_children())
    executor = ProcessPoolExecutor(
        workers, mp_context=get_context("spawn"), initializer=_leave_interrupts_to_us
    )
    try:
        yield executor
    except BaseException:
        for child in set(active_children()) - others:  # nobody waits for what is under way
            child.terminate()
        raise
    finally:
        executor.shutdown(wait=True, cancel_futures=True)
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)


def _leave_interrupts_to_us() -> None:
    """In a worker: Ctrl-C reaches the whole group, and the parent ends the work."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)


@contextmanager
def _cluster(address: str) -> Iterator[Crew]:
    """The workers of a Dask scheduler. What a lost worker had is worked out again by another."""
    client = _client(address)
    try:
        yield Crew(client.get_executor(), lambda: max(sum(client.nthreads().values()), 1))
    except ModuleNotFoundError as error:  # raised in a worker, handed on to us
        fix = f"Start its workers with this planner installed ({error})."
        raise InputRefused([_refused(address, "a cluster without the planner", fix)]) from error
    finally:
        client.close(timeout=2)


def _client(address: str) -> Any:
    try:
        import distributed
    except ModuleNotFoundError as error:
        fix = "Install it: pip install distributed. Or leave --cluster out and share the work by --workers."
        raise InputRefused([_refused(address, "not usable without Dask", fix)]) from error
    connect: Any = distributed.Client
    client: Any = None
    try:
        client = connect(address, timeout=REACHED_WITHIN_S, set_as_default=False)
        client.wait_for_workers(1, timeout=REACHED_WITHIN_S)
    except (OSError, ValueError, TimeoutError) as error:
        found = "not reached" if client is None else "a scheduler without workers"
        if client is not None:
            client.close(timeout=2)
        fix = "Check the address and start scheduler and workers first."
        raise InputRefused([_refused(address, found, fix)]) from error
    return client


def _refused(address: str, found: str, fix: str) -> Problem:
    return Problem(
        "arguments", f"--cluster {address[:80]}", found, "the address of a running Dask scheduler", fix
    )


def _workers(typed: str) -> int:
    if not (typed.isascii() and typed.isdigit() and len(typed) < 4 and 1 <= int(typed) <= MOST_WORKERS):
        raise argparse.ArgumentTypeError(f"{typed[:40]!r}; accepted: a whole number, 1 to {MOST_WORKERS}")
    return int(typed)
