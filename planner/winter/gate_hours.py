"""Which hours the charge gate is open, by its two thresholds."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from planner.compiled import compiled


def gate_open(cell_k: npt.NDArray[np.float64], block_k: float, resume_k: float) -> npt.NDArray[np.bool_]:
    """Whether charging is allowed at each instant of a temperature history.

    cell_k : cell temperature [K], shape (hours, ...), time first.
    block_k : blocks strictly below it [K]; -inf for a gate that never blocks.
    resume_k : opens at or above it [K]; it is not below block_k, else ValueError.
    Returns bool of the same shape. Between the thresholds the last state holds; at the start the gate is
    open only at or above resume_k.
    Source: two-point hysteresis; each hour takes the state of the last hour that decided.
    """
    if not block_k <= resume_k:
        raise ValueError(f"resume threshold {resume_k} K lies below the block threshold {block_k} K")
    opens = cell_k >= resume_k
    decided = opens | (cell_k < block_k)
    hours = np.arange(cell_k.shape[0], dtype=np.int32).reshape((-1,) + (1,) * (cell_k.ndim - 1))
    last_decided = np.maximum.accumulate(np.where(decided, hours, np.int32(0)), axis=0)
    return np.take_along_axis(opens, last_decided, axis=0)


@compiled
def gate_step(was_open: bool, cell_k: float, block_k: float, resume_k: float) -> bool:
    """The same gate for one instant, from the state before it."""
    return cell_k >= resume_k or (was_open and cell_k >= block_k)
