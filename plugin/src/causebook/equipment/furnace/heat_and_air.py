"""The heat-and-air model of a furnace, as the belief asks it.

It draws furnaces that could have given the readings, and answers from them: how likely each set of causes is, what
putting right each cause would do, what a reading not yet taken would show.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from itertools import combinations

import numpy as np

from causebook import quantity as qty
from causebook.belief.arrays import Array
from causebook.belief.cause_sets import Sets
from causebook.belief.protocol import Foreseen, Repair
from causebook.belief.verdict import Expected, WhatIf
from causebook.equipment.furnace.air_path import PARTS
from causebook.equipment.furnace.evidence import Evidence, Gauge
from causebook.equipment.furnace.expected import expected
from causebook.equipment.furnace.foreseen import foreseen
from causebook.equipment.furnace.furnaces import Furnaces
from causebook.equipment.furnace.population import sample
from causebook.equipment.furnace.repairs import Put, SetRepairs, furnaces_in, of_filter, repairs_of, together
from causebook.equipment.furnace.setup import Setup
from causebook.equipment.furnace.system import Identified, Moments
from causebook.equipment.furnace.weighing import Weighing
from causebook.knowledge.model import Knowledge

FURNACES = 1024
"""How many furnaces are drawn for one state of the evidence."""
OUTSIDE = 0.002
"""Weight of openings that heat did not bring about, among the furnaces that stand for a set (expert estimate)."""
LOOKED_INTO = 64
"""How many furnaces stand for one set of causes."""
GROUPED = 8
"""Over how many of the likeliest sets it is asked which repairs together would do."""
WEIGHED = frozenset(
    {
        "rise",
        "static",
        "return",
        "filter",
        "inlet",
        "coil",
        "supply",
        "speed",
        "airflow",
        "motor",
        "capacitor",
        "input",
        "limit",
        "delay",
        "recirculation",
        "return-section",
        "supply-section",
        "filter-out",
        "return-opened",
        "supply-opened",
    }
)
"""What findings are `physical` for that this model weighs as measured."""


class HeatAndAir:
    """What the readings of heat and air say of every set of causes."""

    weighed = WEIGHED

    def __init__(self, evidence: Evidence, knowledge: Knowledge, sets: Sets, count: int = FURNACES) -> None:
        self.evidence, self.knowledge, self.sets = evidence, knowledge, sets
        self.setup = Setup(evidence, knowledge, sets.causes)
        self.weighing = Weighing(self.setup, sample(self.setup, count), sets.members, sets.causes)
        self._repairs: dict[int, SetRepairs] = {}

    @cached_property
    def whole(self) -> Array:
        """(sets,) likelihood of everything read."""
        return self.weighing.by_heat

    @cached_property
    def through(self) -> Array:
        """(sets,) the same, heat and air having brought the complaint about."""
        return self.weighing.heated

    @cached_property
    def calm(self) -> Array:
        """(sets,) the same, heat and air having brought nothing about."""
        return np.maximum(self.weighing.by_heat - self.weighing.heated, 0.0)

    @cached_property
    def besides(self) -> Array:
        """(sets,) the same, something else having brought the complaint about."""
        return self.weighing.otherwise

    def accounts(self, places: Sequence[int]) -> Array:
        """(places,) share of the furnaces of a set that are sound once all of it is put right."""
        self._look_into(places)
        return np.array([self._repairs[p].accounts for p in places])

    def repairs(self, place: int) -> Mapping[str, Repair]:
        """Cause of one set -> what putting it right does."""
        self._look_into([place])
        one = self._repairs[place]
        if not one.physical:
            return {}
        roots, does = one.roots(), one.does()
        return {c: Repair(roots[c], does[c], one.restores(c)) for c in one.physical}

    def _look_into(self, places: Sequence[int]) -> None:
        new = [p for p in places if p not in self._repairs]
        if new:
            self._repairs |= {one.place: one for one in repairs_of(self.weighing, new, self._heat, LOOKED_INTO)}

    @cached_property
    def _heat(self) -> Array:
        """(sets,) chance that heat and not something else brought the complaint about."""
        through = self.weighing.heated
        out: Array = through / np.maximum(through + OUTSIDE * self.weighing.otherwise, 1e-300)
        return out

    def furnaces(self, place: int, count: int = LOOKED_INTO) -> Furnaces:
        """Furnaces of one set as found, each as likely as the other."""
        return furnaces_in(self.weighing, place, count)

    def foresee(self, place: int) -> Mapping[str, Foreseen]:
        """What each kind of reading would show under one set."""
        return foreseen(self.furnaces(place), self.sets.names(place), self.knowledge)

    def expected(self, causes: Sequence[str]) -> tuple[Expected, ...]:
        """What each suspect alone would have shown, beside what was read."""
        return expected(self.setup, causes)

    def pooled(self, places: Sequence[int], chance: Array, count: int = 256) -> Furnaces:
        """Furnaces over several sets, each set as often as it is likely."""
        share = chance / chance.sum()
        numbers = np.maximum(np.round(share * count).astype(int), 0)
        picks = [furnaces_in(self.weighing, p, n) for p, n in zip(places, numbers, strict=True) if n > 0]
        return picks[0] if len(picks) == 1 else Furnaces.joined(picks)

    # ------------------------------------------------------------ what-ifs

    def what_ifs(self, causes: Sequence[str], places: Sequence[int], chance: Array) -> tuple[WhatIf, ...]:
        """As found, each cause put right alone and with an ordinary clean filter (over the sets that hold it), and all
        of a set together."""
        self._look_into(places)
        known = [(self._repairs[p], c) for p, c in zip(places, chance, strict=True)]
        rows = [self._row("as found", (), [(one.found, c) for one, c in known])]
        physical = [c for c in causes if c in self.setup.acting]
        for cause in physical:
            puts = [(one.alone[cause], c) for one, c in known if cause in one.alone]
            if puts:
                name = self.knowledge.causes[cause].name
                rows.append(self._row(f"only this corrected: {name}", (cause,), puts))
                cared = [(one.cared[cause], c) for one, c in known if cause in one.alone]
                if any(p.causes != {cause} for p, _ in cared) and not of_filter(self.setup, cause):
                    rows.append(self._row(f"{name} corrected, filter ordinary and clean", (cause,), cared))
        if len(physical) > 1:
            puts = [(one.all, c) for one, c in known if set(physical) >= set(one.physical) and len(one.physical) > 1]
            if puts:
                rows.append(self._row("all of them corrected", tuple(physical), puts))
        return tuple(rows)

    def needed(self, root: str, others: Sequence[str], places: Sequence[int], chance: Array) -> WhatIf | None:
        """The smallest group of the root and `others` that is sound once put right together, over the likeliest sets
        that hold all of it; None where none is."""
        likeliest = [int(n) for n in np.argsort(-chance, kind="stable")[:GROUPED]]
        beside = [c for c in others if c != root and c in self.setup.acting]
        groups = [frozenset({root, *more}) for size in (1, 2) for more in combinations(beside, size)]
        asked = [(g, n) for g in groups for n in likeliest if g <= self.sets.names(places[n])]
        if not asked:
            return None
        puts = together(self.weighing, [(places[n], group) for group, n in asked], self._heat, LOOKED_INTO)
        for group in groups:
            holding = [(put, float(chance[n])) for put, (g, n) in zip(puts, asked, strict=True) if g == group]
            if not holding:
                continue
            causes = (root, *(c for c in beside if c in group))
            names = " and ".join(self.knowledge.causes[c].name for c in causes)
            row = self._row(f"together: {names}", causes, holding)
            if row.restores:
                return row
        return None

    def _row(self, change: str, repaired: tuple[str, ...], puts: Sequence[tuple[Put, float]]) -> WhatIf:
        weight = np.concatenate([np.full(len(p.rise), c) for p, c in puts])

        def middle(name: str) -> float:
            values = np.concatenate([getattr(p, name) for p, _ in puts])
            order = np.argsort(values)
            return float(values[order][np.searchsorted(np.cumsum(weight[order]), 0.5 * weight.sum())])

        sound = float(weight @ np.concatenate([p.sound for p, _ in puts]) / weight.sum())
        over, rise, flow = middle("over"), middle("rise"), float(np.exp(middle("log_flow")))
        e = self.evidence
        airflow = qty.from_si(flow, qty.AIRFLOW)
        if e.cooling_airflow_needed is not None:
            least = e.cooling_airflow_needed * self.setup.enough_over_ice
            note = f"the coil needs {qty.show(qty.from_si(least, qty.AIRFLOW), qty.AIRFLOW)}"
            return WhatIf(change, repaired, airflow, None, None, None, None, sound > 0.5, note)
        within = None
        if e.rise_maximum is not None:
            within = (e.rise_minimum or 0.0) * 0.98 <= rise <= e.rise_maximum * 1.01
        restores = sound > 0.5 if repaired else False
        return WhatIf(
            change,
            repaired,
            airflow,
            qty.from_si(rise, qty.TEMPERATURE_DIFFERENCE),
            qty.from_si(-over, qty.TEMPERATURE_DIFFERENCE),
            over >= 0,
            within,
            restores,
        )

    # ------------------------------------------------------------ for the sizing

    def identified(self, places: Sequence[int], chance: Array) -> Identified:
        """The furnace as found, over the likeliest sets."""
        return identified(self.setup, self._moments(places, chance))

    def _moments(self, places: Sequence[int], chance: Array) -> Moments:
        furnaces = self.pooled(places, chance)
        drops = {part: _gauge(drop) for part, drop in furnaces.drops.items()}
        best = self.sets.names(places[int(np.argmax(chance))])
        speed = self.setup.sizes["speed"]
        of_motor = {c for c, piece in speed.causes.items() if piece.name in ("motor", "capacitor")} & best
        mended = speed.put_right(furnaces.x["speed"], speed.state_of(best), of_motor)
        return Moments(
            _gauge(np.exp(furnaces.log_flow)),
            _gauge(np.exp(furnaces.log_input)),
            _gauge(np.exp(furnaces.x["speed"])),
            _gauge(np.exp(furnaces.x["speed"] - mended)),
            drops if "coil" in drops else {**drops, "coil": Gauge(0.0, 0.0)},
            _gauge(furnaces.rise),
            _gauge(furnaces.body * np.exp(furnaces.x["hot-spot"])),
        )


def identified(setup: Setup, moments: Moments | None) -> Identified:
    """What the sizing needs of a furnace beside its moments."""
    rated = setup.evidence.rated_airflow
    usual = {p: (setup.usual_drop(p), rated) for p in PARTS}
    own = {p: (setup.clean_drop[p], setup.clean_at[p]) for p in setup.clean_drop}
    return Identified(setup.evidence, {p: setup.exponent[p][0] for p in PARTS}, usual, usual | own, moments)


def _gauge(values: Array) -> Gauge:
    return Gauge(float(np.median(values)), float(values.std()))
