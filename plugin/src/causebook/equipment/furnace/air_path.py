"""The air path of many furnaces at once: drops of the parts, what the blower is asked for, the airflow that results.

Every value is an array over particles.  A part drops k·C·(Q/Q₀)ⁿ: C its clean drop at Q₀, k how much more it takes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from causebook.belief.arrays import Array
from causebook.equipment.furnace.blower import BlowerCurve

PARTS = ("return", "filter", "inlet", "coil", "supply")
STEPS = 3
"""Rounds of the airflow; exponents near two converge by a factor of five or more a round."""


@dataclass(frozen=True)
class CleanPath:
    """The clean drops of a path: [Pa] at an airflow [m³/s] with an exponent, by part."""

    drop: Mapping[str, float]
    at: Mapping[str, float]
    exponent: Mapping[str, Array | float]
    held: frozenset[str]
    """Parts of which the blower's table already holds the clean drop."""

    def log_clean(self, part: str, log_flow: Array) -> Array:
        """ln clean drop of a part [ln Pa] at an airflow."""
        out: Array = self.exponent[part] * (log_flow - np.log(self.at[part])) + np.log(self.drop[part])
        return out

    def clean(self, part: str, log_flow: Array) -> Array:
        """Clean drop of a part [Pa] at an airflow."""
        out: Array = np.exp(self.log_clean(part, log_flow))
        return out

    def drops(self, more: Mapping[str, Array], log_flow: Array) -> dict[str, Array]:
        """Drop of every fitted part [Pa]; `more` holds the logarithm of each part's factor."""
        return {part: np.exp(more[part] + self.log_clean(part, log_flow)) for part in self.drop}

    def asked(self, drops: Mapping[str, Array], log_flow: Array) -> Array:
        """What the blower has to make [Pa]: all drops, less what its table holds of them."""
        total = sum(drops.values()) - sum(self.clean(part, log_flow) for part in self.held if part in self.drop)
        out: Array = np.maximum(total, 0.5)
        return out

    def solve(self, more: Mapping[str, Array], log_speed: Array, curve: BlowerCurve, log_flow: Array) -> Array:
        """ln airflow at which the blower makes what the path asks for, from a first guess."""
        for _ in range(STEPS):
            asked = self.asked(self.drops(more, log_flow), log_flow)
            log_flow = log_speed + curve.log_flow_at(np.log(asked) - 2 * log_flow)
        return log_flow
