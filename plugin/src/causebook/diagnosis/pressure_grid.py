"""Small grids of cumulative pressure, on which the severities of the parts are summed exactly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from causebook.diagnosis.evidence import Array, Gauge
from causebook.diagnosis.states import States

#: Sizes of the grids: pressures over all, pressures about a reading.  With those of the airflows, twice as fine moves
#: no probability of the demo library by more than a hundredth.
NODES, FINE_NODES = 20, 9


@dataclass(frozen=True, slots=True)
class Node:
    """Grid of one cumulative pressure: nodes, cell edges (edges[0] = 0), and the likelihood of its tap reading."""

    at: Array
    edges: Array
    likelihood: Array


def node(tap: Gauge | None, blunder: float, scale: float) -> Node:
    """The grid of one tap [Pa]: coarse over all pressures of a house, fine about the reading where there is one.

    `blunder` is the share of readings that are simply wrong, `scale` a usual pressure [Pa].
    """
    coarse = np.geomspace(0.012, 9.0, NODES) * scale
    if tap is None:
        return Node(coarse, _edges(coarse), np.ones(coarse.size))
    sd = max(tap.sd, 1e-3 * scale)
    fine = tap.value + sd * np.linspace(-3.0, 3.0, FINE_NODES)
    far = coarse[np.abs(coarse - tap.value) > 3.5 * sd][::2]
    at = np.unique(np.concatenate([fine[fine > 1e-4 * scale], far]))
    miss = np.exp(-0.5 * ((at - tap.value) / (0.6 * scale)) ** 2) / (0.6 * scale)
    hit = np.exp(-0.5 * ((at - tap.value) / sd) ** 2) / sd
    return Node(at, _edges(at), ((1 - blunder) * hit + blunder * miss) / np.sqrt(2 * np.pi))


def _edges(at: Array) -> Array:
    return np.concatenate([[0.0], 0.5 * (at[1:] + at[:-1]), [np.inf]])


def mass(steps: Array, log_clean: Array, states: States) -> Array:
    """Chance that a drop falls in each cell.  `steps[..., j]` are cell edges relative to where it starts.

    Shapes: steps (..., J+1), log_clean (Q,) -> (Q, S, ..., J).
    """
    with np.errstate(divide="ignore"):
        logs = np.log(np.maximum(steps, 0.0))
    wide = (slice(None), slice(None)) + (None,) * steps.ndim
    centre = (log_clean[:, None] + states.mean[None, :])[wide]
    below = ndtr((logs[None, None] - centre) / states.spread[None, :][wide])
    cells: Array = np.diff(below, axis=-1)
    return cells
