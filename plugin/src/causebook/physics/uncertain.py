"""A quantity with its standard uncertainty, and how uncertainty passes through a relation."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from causebook.quantity import TEMPERATURE_DIFFERENCE, Kind, Quantity, from_si, show, si


@dataclass(frozen=True, slots=True)
class Uncertain:
    """A value and its standard uncertainty, as bare SI numbers of `kind`; read it as quantities by `value`, `sd`."""

    si: float
    sd_si: float
    kind: Kind

    @classmethod
    def of(cls, value: Quantity, sd: Quantity, kind: Kind) -> Uncertain:
        """From quantities; the uncertainty of a temperature is a difference.  ValueError when `sd` is negative."""
        spread = si(sd, _spread(kind))
        if not spread >= 0:
            raise ValueError(
                f"the standard uncertainty of {kind.name} is {show(sd, _spread(kind))}; valid is 0 or more"
            )
        return cls(si(value, kind), spread, kind)

    @property
    def value(self) -> Quantity:
        """The value."""
        return from_si(self.si, self.kind)

    @property
    def sd(self) -> Quantity:
        """The standard uncertainty."""
        return from_si(self.sd_si, _spread(self.kind))

    def __str__(self) -> str:
        return f"{show(self.value, self.kind)} ± {show(self.sd, _spread(self.kind))}"


def propagate(relation: Callable[..., float], terms: Sequence[Uncertain], returns: Kind) -> Uncertain:
    """`relation` of the terms' bare SI values, with its first-order uncertainty; the terms are independent.

    Each term is moved by one standard uncertainty either way and half the difference is added in quadrature
    (GUM, JCGM 100:2008, 5.1.3 note 2).
    """
    values = [term.si for term in terms]
    variance = 0.0
    for place, term in enumerate(terms):
        moved = [relation(*values[:place], term.si + sign * term.sd_si, *values[place + 1 :]) for sign in (1, -1)]
        variance += ((moved[0] - moved[1]) / 2) ** 2
    return Uncertain(relation(*values), math.sqrt(variance), returns)


def _spread(kind: Kind) -> Kind:
    return TEMPERATURE_DIFFERENCE if kind.si == "K" else kind


def probability_above(term: Uncertain, limit: float) -> float:
    """Probability that the true value lies above `limit` (bare SI), taking the uncertainty as normal."""
    if not term.sd_si:
        return float(term.si > limit)
    return 0.5 * math.erfc((limit - term.si) / (math.sqrt(2) * term.sd_si))
