"""What sizes tell by themselves, whatever the air does: the setting chosen, drops that labels promise, duct sections.

Likelihoods by set of causes; `members` is (sets, causes) of 0 and 1, every result (sets,).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from causebook import quantity as qty
from causebook.diagnosis.evidence import Array, Evidence
from causebook.diagnosis.states import PAIRED_PARTS
from causebook.knowledge.model import Effect, Knowledge


@dataclass(frozen=True)
class PlateBelief:
    """Likelihood of what was read off plates, labels and a tape."""

    evidence: Evidence
    knowledge: Knowledge
    effects: Mapping[str, Sequence[Effect]]
    blunder: float

    def _constant(self, name: str) -> float:
        return self.knowledge.constants[name].value

    def _acting(self, on: str) -> list[tuple[str, Effect]]:
        return [(cause, effect) for cause, found in sorted(self.effects.items()) for effect in found if effect.on == on]

    def weigh(self, members: Array, causes: Sequence[str]) -> Array:
        """How well setting, labels and sections fit each set."""
        return self._setting(members, causes) * self._labels(members, causes) * self._sections(members, causes)

    def _setting(self, members: Array, causes: Sequence[str]) -> Array:
        strength = self.evidence.setting_strength
        if strength is None:
            return np.ones(len(members))
        base = self._constant("setting-spread")
        mean = np.full(len(members), np.log(self._constant("setting-strength")))
        sd = np.full(len(members), base)
        for cause, effect in self._acting("setting"):
            has = members[:, causes.index(cause)] > 0
            mean[has] = np.minimum(mean[has], np.log(effect.factor))
            sd[has] = np.hypot(effect.spread, base)
        weight: Array = np.exp(-0.5 * ((np.log(strength) - mean) / sd) ** 2) / sd
        return weight

    def _labels(self, members: Array, causes: Sequence[str]) -> Array:
        weight = np.ones(len(members))
        for part, (gauge, at) in self.evidence.clean.items():
            known = self.knowledge.parts[part]
            usual = usual_drop(part, self.evidence, self.knowledge)
            promised = np.log(gauge.value / usual) + known.exponent * np.log(self.evidence.rated_airflow / at)
            mean, spread = np.zeros(len(members)), np.full(len(members), known.spread)
            for cause, effect in self._acting(part):
                if effect.labelled:
                    has = members[:, causes.index(cause)] > 0
                    mean[has] = np.log(effect.factor)
                    spread[has] = np.hypot(effect.spread, known.spread)
            weight *= np.exp(-0.5 * ((promised - mean) / spread) ** 2) / spread
        return weight

    def section(self, side: str, members: Array, causes: Sequence[str]) -> tuple[Array, Array]:
        """Mean and spread of ln(narrowest section of the return or supply over the usual one): the drop goes with its
        square, so a duct too small for a drop of f times the usual has 1/√f of the section."""
        mean = np.zeros(len(members))
        square = np.full(len(members), self._constant("section-spread") ** 2)
        narrowing = [(c, e) for c, e in self._acting(side) if e.narrows and c in causes]
        for cause, effect in sorted(narrowing, key=lambda acting: acting[1].factor):
            has = members[:, causes.index(cause)] > 0
            if side not in PAIRED_PARTS:  # as in the drop, the stronger, which comes last, hides the weaker
                mean[has], square[has] = 0.0, self._constant("section-spread") ** 2
            mean[has] -= 0.5 * np.log(effect.factor)
            square[has] += (0.5 * effect.spread) ** 2
        return mean, np.sqrt(square)

    def _sections(self, members: Array, causes: Sequence[str]) -> Array:
        weight = np.ones(len(members))
        for side, read in self.evidence.sections.items():
            mean, spread = self.section(side, members, causes)
            wide = np.hypot(spread, read.sd / read.value)
            fits = np.exp(-0.5 * ((np.log(read.value) - mean) / wide) ** 2) / wide
            weight *= (1 - self.blunder) * fits + self.blunder
        return weight


def usual_drop(part: str, evidence: Evidence, knowledge: Knowledge) -> float:
    """Clean drop [Pa] that is usual for a part at the rated airflow, in the air of this elevation."""
    return knowledge.parts[part].clean_drop * qty.INWC * evidence.density_ratio
