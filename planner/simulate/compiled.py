"""Compilation of the engine's inner functions to machine code, once a machine.

The engine goes through every scenario step by step; written for single numbers and compiled, a step costs what its
exponentials cost. The compiled march is kept beside its module, or in the user's cache folder where that cannot be
written; where neither can, it is compiled anew in every process.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from numba import njit

Function = TypeVar("Function", bound=Callable[..., Any])

# Compiled code only works on arrays it is given, so that reference counting has nothing to do in it
_compile: Any = partial(njit, nogil=True, error_model="numpy", _nrt=False)
_inner: Any = partial(_compile, no_cpython_wrapper=True, no_cfunc_wrapper=True)
SOURCES = ("simulate/*.py", "battery/c*.py")


def compiled(function: Function) -> Function:
    """A function to be called by compiled ones; divisions by zero give inf or nan, as numpy's do."""
    return _inner()(function)  # type: ignore[no-any-return]


def inlined(function: Function) -> Function:
    """As `compiled`, for what every step goes through: written out where it is called.

    A call hands over every array of Now field by field, which cost more than the step's arithmetic: two thirds of the
    engine's time.
    """
    return _inner(forceinline=True)(function)  # type: ignore[no-any-return]


def kept(function: Function) -> Function:
    """The outermost compiled function, kept on disk under a name that tells the state of all sources it is made of."""
    function.__qualname__ = f"{function.__qualname__}_{_sources_digest()}"
    try:
        return _compile(cache=True)(function)  # type: ignore[no-any-return]
    except RuntimeError:  # no folder to keep it in
        return _compile()(function)  # type: ignore[no-any-return]


def _sources_digest() -> str:
    """Digest of every module that compiled functions come from: a kept one is good for the very same sources only."""
    digest = hashlib.sha256()
    folder = Path(__file__).parents[1]
    for pattern in SOURCES:
        for source in sorted(folder.glob(pattern)):
            digest.update(source.read_bytes())
    return digest.hexdigest()[:16]
