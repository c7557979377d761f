"""A value with its standard uncertainty, and how uncertainty passes through a relation."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from causebook.quantity import RATIO, Kind, Quantity, from_si, show, si, spread_kind

_NO_SPREAD = 1e-12
"""Stands for a standard uncertainty of nothing, so that it can be divided by."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A value and its standard uncertainty, as bare SI numbers of `kind`; read it as quantities by `value`, `sd`."""

    si: float
    sd_si: float
    kind: Kind

    @classmethod
    def of(cls, value: Quantity, sd: Quantity, kind: Kind) -> Measured:
        """From quantities; the uncertainty of a temperature is a difference.  ValueError when `sd` is negative."""
        spread = si(sd, spread_kind(kind))
        if not spread >= 0:
            said = show(sd, spread_kind(kind))
            raise ValueError(f"the standard uncertainty of {kind.name} is {said}; valid is 0 or more")
        return Measured(si(value, kind), spread, kind)

    @property
    def value(self) -> Quantity:
        """The value."""
        return from_si(self.si, self.kind)

    @property
    def sd(self) -> Quantity:
        """The standard uncertainty."""
        return from_si(self.sd_si, spread_kind(self.kind))

    @property
    def pair(self) -> tuple[float, float]:
        """Value and standard uncertainty as bare SI numbers."""
        return self.si, self.sd_si

    @property
    def share(self) -> float:
        """The standard uncertainty as a share of the value."""
        return self.sd_si / self.si

    def __sub__(self, other: Measured) -> Measured:
        """One less another of the same kind, the two independent."""
        return Measured(self.si - other.si, math.hypot(self.sd_si, other.sd_si), spread_kind(self.kind))

    def __truediv__(self, other: Measured) -> Measured:
        """One over another of the same kind, the two independent."""
        ratio = self.si / other.si
        return Measured(ratio, abs(ratio) * math.hypot(self.share, other.share), RATIO)

    def above(self, limit: float) -> float:
        """Chance that the true value lies above `limit` (bare SI), taking the uncertainty as normal."""
        return chance_above(self.si, self.sd_si, limit)

    def __str__(self) -> str:
        return f"{show(self.value, self.kind)} ± {show(self.sd, spread_kind(self.kind))}"


def chance_above(value: float, sd: float, limit: float) -> float:
    """Chance that a normal variable of this mean and standard deviation lies above a limit."""
    return 0.5 * math.erfc((limit - value) / (math.sqrt(2) * max(sd, _NO_SPREAD)))


def propagate(relation: Callable[..., float], terms: Sequence[Measured], returns: Kind) -> Measured:
    """`relation` of the terms' bare SI values, with its first-order uncertainty; the terms are independent.

    Each term is moved by one standard uncertainty either way and half the difference is added in quadrature
    (GUM, JCGM 100:2008, 5.1.3 note 2).
    """
    values = [term.si for term in terms]
    variance = 0.0
    for place, term in enumerate(terms):
        moved = [relation(*values[:place], term.si + sign * term.sd_si, *values[place + 1 :]) for sign in (1, -1)]
        variance += ((moved[0] - moved[1]) / 2) ** 2
    return Measured(relation(*values), math.sqrt(variance), returns)
