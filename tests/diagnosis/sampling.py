"""Sampled houses for checks of the belief by Monte Carlo: parts drawn from their states, the airflow by bisection."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np
from causebook.diagnosis.airpath_belief import PathBelief
from causebook.diagnosis.fan_belief import GENERIC_FAN
from numpy.random import Generator

from causebook.quantity import INWC

PARTS = ("return", "filter", "inlet", "coil", "supply")
Sample = np.ndarray


def drawn(path: PathBelief, present: Iterable[str], rng: Generator, samples: int) -> dict[str, Sample]:
    """Factors on the clean drop of every part, on blower speed and on input, with these causes present."""
    at = {n: s.index(present) for n, s in path.states.items()}
    return {n: np.exp(s.mean[at[n]] + s.spread[at[n]] * rng.standard_normal(samples)) for n, s in path.states.items()}


def solved(path: PathBelief, has: Mapping[str, Sample]) -> tuple[Sample, dict[str, Sample]]:
    """(airflow [m³/s], drop of each part [Pa]) where a blower without a table makes what the parts take; the clean
    inlet is paid for within it."""
    rated = path.evidence.rated_airflow
    usual = path.knowledge.constants["generic-blower-static"].value * INWC * path.evidence.density_ratio
    clean = {p: path.clean_at_rated[p][0] for p in PARTS}

    def drops(flow: Sample) -> dict[str, Sample]:
        return {p: has[p] * clean[p] * (flow / rated) ** path.exponent[p] for p in PARTS}

    low, high = np.full_like(has["blower"], 0.02 * rated), np.full_like(has["blower"], 3.0 * rated)
    for _ in range(36):
        flow = 0.5 * (low + high)
        asked = sum(drops(flow).values()) - clean["inlet"] * (flow / rated) ** path.exponent["inlet"]
        made = usual * has["blower"] ** 2 * np.interp(flow / has["blower"] / rated, *GENERIC_FAN)
        low, high = np.where(made > asked, flow, low), np.where(made > asked, high, flow)
    return flow, drops(flow)
