"""How much is learnt about the root: expected fall of its entropy, in bits.

Shapes: S sets of causes, R roots; `joint` (S, R) is the chance of each set together with each root, and sums to one.
Source: C. E. Shannon, "A Mathematical Theory of Communication", 1948, section 12 (equivocation), from memory.
"""

from __future__ import annotations

import numpy as np

from causebook.belief.arrays import Array

PLACES = 96
"""Places of the grid on which a reading is foreseen."""


def entropy(chance: Array) -> float:
    """Entropy of a distribution [bit]."""
    held = chance[chance > 0]
    return float(-(held * np.log2(held)).sum())


def of_answer(joint: Array, yes: Array) -> float:
    """Expected information from an answer, (S,) being the chance that it is yes under each set."""
    said = yes @ joint
    return _learnt(np.stack([said, joint.sum(axis=0) - said], axis=1))


def of_reading(joint: Array, mean: Array, spread: Array) -> float:
    """Expected information from a reading foreseen as normal, (S,) and (S,), under each set."""
    low, high = float((mean - 4 * spread).min()), float((mean + 4 * spread).max())
    if not high > low:
        return 0.0
    places = np.linspace(low, high, PLACES)
    wide = np.maximum(spread, (high - low) / PLACES)
    dense = np.exp(-0.5 * ((places[None, :] - mean[:, None]) / wide[:, None]) ** 2)
    return _learnt(joint.T @ (dense / dense.sum(axis=1, keepdims=True)))


def _learnt(both: Array) -> float:
    """Information that the columns of a joint distribution (R, X) carry about its rows."""
    apart = both.sum(axis=1, keepdims=True) * both.sum(axis=0, keepdims=True)
    there = both > 1e-15
    return max(float((both[there] * np.log2(both[there] / apart[there])).sum()), 0.0)
