"""Compilation of inner functions to machine code, once a machine.

The engine goes through every scenario step by step, and a heater's thermostat from switching to switching; written for
single numbers and compiled, a step costs what its exponentials cost. The outermost compiled functions are kept beside
their modules, or in the user's cache folder where that cannot be written; where neither can, they are compiled anew in
every process.
"""

from __future__ import annotations

import hashlib
import logging
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from numba import njit
from numba.core import event

COMPILING = "The engine is being compiled for this computer. This is done once and takes up to a minute."
_log = logging.getLogger(__name__)

Function = TypeVar("Function", bound=Callable[..., Any])

# Compiled code only works on arrays it is given, so that reference counting has nothing to do in it
_compile: Any = partial(njit, nogil=True, error_model="numpy", _nrt=False)
_inner: Any = partial(_compile, no_cpython_wrapper=True, no_cfunc_wrapper=True)


class _Compilation(event.Listener):
    """Tells the log of each compilation as it begins, those inside it left out; kept code is loaded without one."""

    def __init__(self) -> None:
        self.depth = 0

    def on_start(self, event: event.Event) -> None:
        self.depth += 1
        if self.depth == 1:
            _log.info(COMPILING)

    def on_end(self, event: event.Event) -> None:
        self.depth -= 1


event.register("numba:compile", _Compilation())  # type: ignore[no-untyped-call]


def compiled(function: Function) -> Function:
    """A function to be called by compiled ones; divisions by zero give inf or nan, as numpy's do."""
    return _inner()(function)  # type: ignore[no-any-return]


def inlined(function: Function) -> Function:
    """As `compiled`, for what every step goes through: written out where it is called.

    A call hands over every array field by field, which cost more than a step's arithmetic: two thirds of the
    engine's time.
    """
    return _inner(forceinline=True)(function)  # type: ignore[no-any-return]


def unfolded(function: Function) -> Function:
    """As `inlined`, for the few large functions on the way to a step: written out before anything is compiled.

    The machine code of a large function would else be optimised anew in each caller above it, which took half of the
    compiling. Small ones called from many places would be copied too often that way.
    """
    return _inner(inline="always")(function)  # type: ignore[no-any-return]


def kept(*sources: str) -> Callable[[Function], Function]:
    """The outermost compiled function, kept on disk under a name that tells the state of all sources it is made of.

    sources : patterns of those modules below the planner's folder; a kept function is good for the very same ones only.
    """

    def keep(function: Function) -> Function:
        function.__qualname__ = f"{function.__qualname__}_{_digest(sources)}"
        try:
            return _compile(cache=True)(function)  # type: ignore[no-any-return]
        except RuntimeError:  # no folder to keep it in
            return _compile()(function)  # type: ignore[no-any-return]

    return keep


def _digest(sources: tuple[str, ...]) -> str:
    """Digest of every module a compiled function comes from, and of this one."""
    digest = hashlib.sha256(Path(__file__).read_bytes())
    for pattern in sources:
        for source in sorted(Path(__file__).parent.glob(pattern)):
            digest.update(source.read_bytes())
    return digest.hexdigest()[:16]
