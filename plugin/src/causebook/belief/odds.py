"""Odds and weights of evidence: what a person adds up by hand."""

from __future__ import annotations

import math


def odds(chance: float) -> float:
    """Chance as odds, p / (1 − p).  ValueError for 0 and 1, which no evidence can move."""
    if not 0 < chance < 1:
        raise ValueError(f"the chance is {chance:g}; valid is above 0 and below 1")
    return chance / (1 - chance)


def chance(odds_for: float) -> float:
    """Odds as chance, o / (1 + o)."""
    return odds_for / (1 + odds_for)


def decibans(ratio: float) -> float:
    """Weight of evidence, 10·log₁₀ of a ratio of likelihoods or of odds (Good, 1950; the deciban is Turing's)."""
    return 10 * math.log10(ratio)


def moved(before: float, weight: float) -> float:
    """The chance after evidence of `weight` decibans: odds times 10^(weight / 10)."""
    return chance(odds(before) * 10 ** (weight / 10))
