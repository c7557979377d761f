"""What is fixed before anything is drawn: sizes of the unknowns under the causes at hand, clean drops, spreads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from causebook import quantity as qty
from causebook.belief.arrays import Array
from causebook.equipment.furnace.air_path import PARTS
from causebook.equipment.furnace.blower import GENERIC_FAN, BlowerCurve
from causebook.equipment.furnace.evidence import Evidence
from causebook.equipment.furnace.sizes import Piece, Range, Sizes, sizes_of
from causebook.knowledge.model import Cause, Effect, Knowledge

TURNED = ("capacitor", "motor")
"""What a tachometer reads the speed of: the motor with its capacitor."""
SPAN_SHIFT, SPAN_FACTOR = 150.0, 6.0
"""What a wrong measurement of a part may show: shifts [K], logarithms of factors."""


@dataclass(frozen=True)
class Slowed:
    """What of its speed a motor keeps with a share of its capacitance, as logarithms."""

    loses: float
    """Share of the speed lost with no capacitance left."""

    def __call__(self, value: Array) -> Array:
        return np.asarray(np.log(np.maximum(1 - self.loses * (1 - np.exp(np.minimum(value, 0.0))), 0.02)))


def SAME(value: Array) -> Array:
    """The piece adds its own value."""
    return value


def HALF(value: Array) -> Array:
    """Flow through an orifice goes with the root of its pressure."""
    return 0.5 * value


@dataclass(frozen=True)
class Setup:
    """One case's furnace as the knowledge sees it before the readings are weighed."""

    evidence: Evidence
    knowledge: Knowledge
    causes: tuple[str, ...]

    @property
    def blunder(self) -> float:
        """Share of readings that are plain wrong."""
        return self.constant("blunder-share")

    def constant(self, name: str) -> float:
        """The value of a named constant."""
        return self.knowledge.constants[name].value

    def spread(self, name: str) -> float:
        """The spread of a named constant."""
        return self.knowledge.constants[name].spread

    @cached_property
    def plate_input(self) -> float:
        """Plate input [W], or that of the rated airflow where no plate tells."""
        e = self.evidence
        return e.plate_input or e.rated_airflow * e.sensible * 29.0 / e.efficiency.value

    @cached_property
    def acting(self) -> Mapping[str, tuple[Effect, ...]]:
        """Cause -> its effects on the unknowns, of the causes at hand."""
        known: Mapping[str, Cause] = self.knowledge.causes
        return {c: known[c].effects for c in self.causes if known[c].effects}

    @cached_property
    def sizes(self) -> Mapping[str, Sizes]:
        """Unknown -> its sizes."""
        pieces: dict[str, list[Piece]] = {}
        for id_, known in self.knowledge.unknowns.items():
            if self._is_drawn(id_):
                of = "" if id_ == "setting" and self.evidence.held_airflow is not None else known.of
                pieces.setdefault(of or id_, []).append(self._piece(id_))
        pieces["speed"].append(Piece("strength", self.blower_spread))
        pieces["input"].append(Piece("gas", self.gas_spread))
        turned = self.evidence.turned
        return {
            name: sizes_of(name, tuple(found), TURNED, turned)
            if name == "speed" and turned
            else sizes_of(name, tuple(found))
            for name, found in pieces.items()
        }

    def _is_drawn(self, name: str) -> bool:
        if name == "coil":
            return self.evidence.coil
        return name != "setting" or not self.setting_is_told

    @cached_property
    def setting_is_told(self) -> bool:
        """Does the setting's own table tell what it gives?  Then how low it is set is read off and not inferred."""
        return self.evidence.setting_strength is not None or self.evidence.setting_meant is not None

    def _piece(self, name: str) -> Piece:
        known = self.knowledge.unknowns[name]
        ranges = []
        for cause, effects in sorted(self.acting.items()):
            for effect in effects:
                if effect.on == name and not (effect.labelled and name in self.evidence.clean):
                    ranges.append((cause, Range(self._on_line(name, effect.least), self._on_line(name, effect.most))))
        if name in PARTS:
            spread = self.part_spread(name)
        else:
            spread = known.spread * 5 / 9 if known.shift else known.spread
        span = SPAN_SHIFT if known.shift else SPAN_FACTOR
        adds = {"manifold": (HALF,), "capacitor": self._slowed}.get(name, (SAME,))
        blunder = self.constant("blunder-at-part-share")
        return Piece(name, spread, tuple(ranges), self.evidence.measured.get(name), blunder, span, adds)

    @cached_property
    def _slowed(self) -> tuple[Slowed, ...]:
        """What a lack of capacitance takes of the speed, by how heavily the motor is loaded."""
        middle, half = self.constant("capacitor-slowing"), self.spread("capacitor-slowing")
        return tuple(Slowed(middle + half * share) for share in (-0.8, -0.4, 0.0, 0.4, 0.8))

    def _on_line(self, name: str, size: float) -> float:
        if self.knowledge.unknowns[name].shift:
            return size * 5 / 9
        if name == "recirculation":
            return float(np.log(size)) - self.back
        return float(np.log(size))

    @property
    def back(self) -> float:
        """Logarithm of the share of air that comes straight back in a sound house: the zero of that unknown."""
        return float(np.log(self.constant("recirculation-sound")))

    def part_spread(self, part: str) -> float:
        """Spread of a sound part about its clean drop: its label's where one is known."""
        known = self.evidence.clean.get(part)
        return known[0].sd if known is not None else self.knowledge.parts[part].spread

    @cached_property
    def clean_drop(self) -> Mapping[str, float]:
        """Part -> clean drop [Pa], by its label or as is usual for such a part."""
        fitted = [p for p in PARTS if p != "coil" or self.evidence.coil]
        return {p: self.evidence.clean[p][0].value if p in self.evidence.clean else self.usual_drop(p) for p in fitted}

    @cached_property
    def clean_at(self) -> Mapping[str, float]:
        """Part -> airflow [m³/s] at which that holds."""
        return {
            p: self.evidence.clean[p][1] if p in self.evidence.clean else self.evidence.rated_airflow
            for p in self.clean_drop
        }

    def usual_drop(self, part: str) -> float:
        """Clean drop [Pa] that is usual for a part at the rated airflow, in the air of this elevation."""
        return self.knowledge.parts[part].clean_drop * qty.INWC * self.evidence.density_ratio

    @cached_property
    def exponent(self) -> Mapping[str, tuple[float, float]]:
        """Part -> exponent of its drop with its spread."""
        return {p: (self.knowledge.parts[p].exponent, self.knowledge.parts[p].exponent_sd) for p in PARTS}

    @cached_property
    def held(self) -> frozenset[str]:
        """Parts of which the blower's table already holds the clean drop."""
        return frozenset(p for p in self.clean_drop if p == "inlet" or p not in self.evidence.counted)

    @cached_property
    def curve(self) -> BlowerCurve:
        """The blower at the setting found: its table, else the usual shape; of a motor that holds its airflow, what
        it can do at most."""
        e = self.evidence
        if e.held_airflow is not None:
            flow, static = GENERIC_FAN
            return BlowerCurve(
                flow * e.held_airflow, static * self.constant("held-static") * qty.INWC * e.density_ratio
            )
        if e.fan is not None:
            return BlowerCurve(e.fan.airflow, e.fan.static)
        flow, static = GENERIC_FAN
        usual = self.constant("generic-blower-static") * qty.INWC * e.density_ratio
        return BlowerCurve(flow * e.rated_airflow, static * usual)

    @cached_property
    def blower_spread(self) -> float:
        """Spread of a sound blower about its curve, as the logarithm of a speed."""
        e = self.evidence
        if e.held_airflow is not None:
            return self.spread("held-static") / 2
        return e.fan.sd if e.fan is not None else self.constant("blower-strength-spread")

    @cached_property
    def held_spread(self) -> float:
        """Spread of the airflow that an electronic motor holds about its setting."""
        return self.constant("held-airflow-spread")

    @cached_property
    def gas_spread(self) -> float:
        """Spread of a sound input about what plate, manifold and orifices make it."""
        return self.constant("input-spread")

    @cached_property
    def body(self) -> tuple[float, float]:
        """Least and most rise of the limit's body over that of the air."""
        # Evenly spread numbers reach √3 of their standard deviation to either side.
        middle, half = self.constant("limit-body-factor"), self.spread("limit-body-factor") * 3**0.5
        return middle - half, middle + half

    @cached_property
    def lags(self) -> tuple[tuple[float, float], ...]:
        """(seconds, spread of the logarithm) of supply air, of the limit behind it, and of the still furnace."""
        names = ("air-lag", "limit-lag", "still-lag")
        return tuple((self.constant(n), self.spread(n)) for n in names)

    @cached_property
    def opens(self) -> float:
        """Temperature at which a sound limit opens [K]: its marking, else what a rise beyond the plate's brings."""
        e = self.evidence
        if e.limit_opens is not None:
            return e.limit_opens
        most = e.rise_maximum or self.constant("usual-rise-maximum") * 5 / 9
        return (
            e.return_temperature.value + self.constant("limit-body-factor") * self.constant("limit-beyond-plate") * most
        )

    @cached_property
    def delay(self) -> float:
        """Wait before the blower by the sheet [s], or the usual one."""
        return self.evidence.delay or self.constant("blower-delay-usual")

    @cached_property
    def slack(self) -> float:
        """How sharply a limit opens, beside what its unknown holds [K]; of unknown marking, hardly sharply."""
        if self.evidence.limit_opens is not None:
            return 1.5
        return float(
            np.hypot(1.5, self.spread("limit-beyond-plate") * (self.opens - self.evidence.return_temperature.value))
        )

    @cached_property
    def raised_setting(self) -> float:
        """ln of the speed that the setting meant gives over the one found (the one nearest to the rated airflow, where
        none is told to be meant); of a motor that holds its airflow, of the airflow."""
        e = self.evidence
        if e.setting_meant is not None and e.setting_meant < 1:
            return -float(np.log(e.setting_meant))
        if e.setting_strength is not None:
            return max(-float(np.log(e.setting_strength / self.constant("setting-strength"))), 0.0)
        return 0.0

    @property
    def rise_spread(self) -> float:
        """Error of the rise beside its readings: where the probes hang."""
        return self.constant("airflow-by-rise-spread")

    @property
    def enough_over_ice(self) -> float:
        """Airflow that a cooling coil needs over that at which it freezes."""
        return self.constant("cooling-airflow-least") / self.constant("cooling-airflow-ice")


def density_by_state(sizes: Sizes, value: float) -> Array:
    """(states,) density of one known value of an unknown."""
    return sizes.density(np.array([value]))[:, 0]


def labelled_sizes(setup: Setup, part: str, causes: Sequence[str]) -> Sizes:
    """What a label may promise over the usual drop, by the causes that their own label holds."""
    ranges = []
    for cause in sorted(causes):
        for effect in setup.acting.get(cause, ()):
            if effect.on == part and effect.labelled:
                ranges.append((cause, Range(float(np.log(effect.least)), float(np.log(effect.most)))))
    return sizes_of(f"label-{part}", (Piece(part, setup.knowledge.parts[part].spread, tuple(ranges)),))
