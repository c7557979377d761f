"""The exact belief over airflow, input and the state of every part of the air path.

One unknown airflow; at that airflow every part is judged against its own clean drop.  Given the airflow the parts
separate, so the sum over all their severities is done exactly on small grids: suctions add up from the room to the
wheel, pressures from the wheel to the room, and the fan closes the loop.  With the fan laws a blower of another
speed s meets the same path at s times the airflow, so that integrating over ln(airflow) with the density of
ln(speed that the pressure asks for) needs no Jacobian for square-law parts (exponents near 2; the error for a
filter of exponent 1.4 is a few per cent of a spread of 45 %).

Everything here is in SI numbers; pressures are magnitudes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.special import ndtr

from causebook import quantity as qty
from causebook.diagnosis.blower_belief import blower_belief
from causebook.diagnosis.evidence import Array, Evidence, Gauge
from causebook.diagnosis.fan_belief import fan_belief
from causebook.diagnosis.limit_belief import LimitBelief
from causebook.diagnosis.plate_belief import PlateBelief, usual_drop
from causebook.diagnosis.pressure_grid import Node, mass, node
from causebook.diagnosis.states import PAIRED_PARTS, states_of
from causebook.knowledge.model import Knowledge

PATH_PARTS = ("return", "filter", "inlet", "coil", "supply")
#: Sizes of the airflow grids, over all and about a reading.
AIRFLOWS, FINE_AIRFLOWS = 20, 11


@dataclass(frozen=True, slots=True)
class Moments:
    """What the evidence makes of the path when a given set of causes is present: means and spreads, SI."""

    airflow: Gauge
    input: Gauge
    speed: Gauge
    """Blower speed as a share of its table's."""
    motor: Gauge
    """The share of it that causes of the motor account for: 1 without any, all of it with nothing else."""
    drops: Mapping[str, Gauge]
    rise: Gauge


@dataclass(frozen=True, slots=True)
class Joint:
    """The weights of the grids under one set of causes: by airflow Q, inlet state M, pressures at the four taps."""

    by_return: Array
    """(Q, 2, 3) suction before and after the filter."""
    by_supply: Array
    """(Q, 6, 5) pressure after and before the coil; tap 6 of one cell without a coil."""
    by_inlet: Array
    """(Q, M)."""
    by_total: Array
    """(Q, 3, 5)."""
    excess: Array
    """(Q, M) drop of the inlet beyond its clean one [Pa]."""
    speed: Gauge
    """Of the blower, as a share of its table's."""
    motor: Gauge
    """The motor's part of it."""
    place: Mapping[str, int]
    """State of each unknown."""


class PathBelief:
    """Likelihood of the measured evidence under every state of the air path, blower, input and limit.

    `weigh` gives, for many sets of causes at once, the likelihood and the chance that the complaint happens by heat
    and air alone (the limit opens; the cooling coil starves).
    """

    def __init__(self, evidence: Evidence, knowledge: Knowledge, causes: Iterable[str], blunders: bool = True) -> None:
        self.evidence, self.knowledge = evidence, knowledge
        self.constants = {c.id: c for c in knowledge.constants.values()}
        self._blunder = self.constants["blunder-share"].value if blunders else 1e-9
        effects = {c: knowledge.causes[c].effects for c in sorted(causes) if knowledge.causes[c].effects}
        model = knowledge.parts
        if evidence.setting_strength is not None:
            # The table of the setting found is known: how weak that setting is speaks for itself (below), and
            # the fan is not slower than its own table.
            effects_path = {c: [e for e in found if e.on != "setting"] for c, found in effects.items()}
        else:
            effects_path = {c: list(found) for c, found in effects.items()}
        # A label that is known already holds what a part too fine or too small costs: it speaks for itself (below).
        effects_path = {
            c: [e for e in found if not (e.labelled and e.on in evidence.clean)] for c, found in effects_path.items()
        }
        self._effects = effects
        self.exponent = {p: model[p].exponent for p in PATH_PARTS}
        self.usual_at_rated = {p: (usual_drop(p, evidence, knowledge), evidence.rated_airflow) for p in PATH_PARTS}
        self.clean_at_rated = dict(self.usual_at_rated)
        spreads = {p: model[p].spread for p in PATH_PARTS}
        for part, (gauge, at) in evidence.clean.items():
            self.clean_at_rated[part] = (gauge.value, at)
            spreads[part] = gauge.sd
        self.states = {
            p: states_of([p], effects_path, spreads[p], "all" if p in PAIRED_PARTS else "none") for p in PATH_PARTS
        }
        fan_sd = evidence.fan.sd if evidence.fan else self._constant("blower-strength-spread")
        self.blower = blower_belief(effects_path, fan_sd, evidence.motor_speed, self._blunder)
        self.states["blower"] = self.blower.states
        self.states["input"] = states_of(["input"], effects, self._constant("input-spread"))
        self.fan = fan_belief(evidence, knowledge)
        self.limit = LimitBelief(evidence, knowledge, effects, self._blunder)
        self.plate = PlateBelief(evidence, knowledge, effects, self._blunder)
        self._joints: dict[tuple[frozenset[str], bool], Joint] = {}

    def _constant(self, name: str) -> float:
        return self.constants[name].value

    # ------------------------------------------------------------------ grids

    @cached_property
    def airflow(self) -> Array:
        """Grid of airflows [m³/s], fine where a reading says the airflow is."""
        rated = self.evidence.rated_airflow
        grid = rated * np.geomspace(0.08, 2.0, AIRFLOWS)
        for centre, spread in self._airflow_hints():
            fine = centre * np.exp(spread * np.linspace(-3, 3, FINE_AIRFLOWS))
            grid = np.concatenate([grid[(grid < fine[0]) | (grid > fine[-1])], fine])
        return np.unique(grid)

    def _airflow_hints(self) -> list[tuple[float, float]]:
        e, hints = self.evidence, []
        heat = e.clocked.value if e.clocked else e.plate_input
        if e.rise and heat:
            spread = np.sqrt((e.rise.sd / e.rise.value) ** 2 + (e.efficiency.sd / e.efficiency.value) ** 2 + 0.03**2)
            hints.append((heat * e.efficiency.value / e.sensible / e.rise.value, float(spread)))
        elif e.rise_at_trip and heat:
            # The steady rise lies somewhat above the one at the trip.
            hints.append((0.88 * heat * e.efficiency.value / e.sensible / e.rise_at_trip.value, 0.1))
        elif e.airflow:
            hints.append((e.airflow.value, e.airflow.sd / e.airflow.value))
        return hints

    @cached_property
    def _log_step(self) -> Array:
        """Width of each airflow cell in ln(airflow)."""
        log_q = np.log(self.airflow)
        edges = np.concatenate([[log_q[0]], 0.5 * (log_q[1:] + log_q[:-1]), [log_q[-1]]])
        width: Array = np.diff(edges)
        return width

    def _log_clean(self, part: str) -> Array:
        drop, at = self.clean_at_rated[part]
        logs: Array = np.log(drop) + self.exponent[part] * np.log(self.airflow / at)
        return logs

    @cached_property
    def _nodes(self) -> dict[int, Node]:
        scale = 0.25 * qty.INWC
        taps = self.evidence.taps
        return {n: node(taps.get(n), self._blunder, scale) for n in (2, 3, 5, 6)}

    def _uncounted(self) -> Array:
        """Clean drop, at each airflow, of parts the fan table already counts inside the furnace."""
        total = np.zeros(self.airflow.size)
        for part in PATH_PARTS:
            if part not in self.evidence.counted or part == "inlet":
                if part == "coil" and not self.evidence.coil:
                    continue
                total += np.exp(self._log_clean(part))
        return total

    # ------------------------------------------------------------------ short tests with the path opened

    def _opened(self, removes: str) -> tuple[Array, tuple[Array, float]] | None:
        """The total (Q,) that the fan works against, and the ratio of the rises (Q,) with its relative spread."""
        e = self.evidence
        test = next((o for o in e.opened if o.removes == removes), None)
        heat = e.clocked or (
            Gauge(e.plate_input, e.plate_input * self._constant("input-unclocked-spread")) if e.plate_input else None
        )
        if test is None:
            return None
        if test.rise_ratio is not None:
            return self._total, (
                np.full(self.airflow.size, test.rise_ratio.value),
                test.rise_ratio.sd / test.rise_ratio.value,
            )
        if heat is None or test.rise is None:
            return None
        # No steady rise as found to compare with: at each airflow it follows from the heat.
        before = heat.value * e.efficiency.value / (e.sensible * self.airflow)
        spread = np.sqrt(
            (test.rise.sd / test.rise.value) ** 2
            + (heat.sd / heat.value) ** 2
            + (e.efficiency.sd / e.efficiency.value) ** 2
        )
        return self._total, (test.rise.value / before, float(spread))

    @cached_property
    def _total(self) -> Array:
        """Total the fan works against at each airflow: as read, else as its own table gives."""
        taps = self.evidence.taps
        if 3 in taps and 5 in taps:
            return np.full(self.airflow.size, taps[3].value + taps[5].value)
        if self.evidence.static:
            return np.full(self.airflow.size, self.evidence.static.value)
        return self.fan.at(self.airflow)

    def _gain(self, share: Array, read: tuple[Array, float]) -> Array:
        """Likelihood of a rise ratio when `share` (Q, ...) of the total is taken away."""
        ratio = read[0][(slice(None),) + (None,) * (share.ndim - 1)]
        expected = 1 / self.fan.gains(self.airflow, self._total, 1 - share)
        sd = np.hypot(read[1] * ratio, self._constant("opened-path-spread"))
        return (1 - self._blunder) * np.exp(-0.5 * ((ratio - expected) / sd) ** 2) / sd + self._blunder * np.exp(
            -0.5 * ((ratio - 1) / 0.3) ** 2
        ) / 0.3

    def _fits(self, off: Array) -> Array:
        """Likelihood of a reading that is `off` so many spreads from what it should be."""
        fits: Array = (1 - self._blunder) * np.exp(-0.5 * off**2) + self._blunder * 0.1
        return fits

    def _across(self, part: str, drop: Array) -> Array:
        """Likelihood of a drop read with both hoses at once over one part, at each drop [Pa]."""
        read = self.evidence.across.get(part)
        if read is None:
            return np.ones_like(drop)
        hit = np.exp(-0.5 * ((drop - read.value) / read.sd) ** 2) / read.sd
        wide = np.exp(-0.5 * ((drop - read.value) / qty.INWC) ** 2) / qty.INWC
        return (1 - self._blunder) * hit + self._blunder * wide

    # ------------------------------------------------------------------ the two sides of the wheel

    @cached_property
    def _suction(self) -> tuple[Array, Array, Array]:
        """(Q, R, i) weight of the suction before the filter, (Q, F, i, j) of the step over the filter, and
        (Q, R, F, j) of the suction after it."""
        two, three = self._nodes[2], self._nodes[3]
        start = mass(two.edges, self._log_clean("return"), self.states["return"]) * two.likelihood
        if opened := self._opened("return"):
            start = start * self._gain(two.at[None, :] / opened[0][:, None], opened[1])[:, None, :]
        step = mass(three.edges[None, :] - two.at[:, None], self._log_clean("filter"), self.states["filter"])
        drop = np.maximum(three.at[None, :] - two.at[:, None], 0.0)
        step = step * three.likelihood * self._across("filter", drop)
        if opened := self._opened("filter"):
            step = step * self._gain(drop[None] / opened[0][:, None, None], opened[1])[:, None]
        if opened := self._opened("return and filter"):
            step = step * self._gain(three.at[None, :] / opened[0][:, None], opened[1])[:, None, None, :]
        return start, step, np.einsum("qri,qfij->qrfj", start, step, optimize=True)

    @cached_property
    def _pressure(self) -> tuple[Array, Array, Array]:
        """(Q, S, i) weight of the pressure after the coil, (Q, C, i, j) of the step over it, and (Q, C, S, j) of the
        pressure before it.  Without a coil there is one cell i of no pressure, and the supply makes the step."""
        six, five = self._nodes[6], self._nodes[5]
        if not self.evidence.coil:
            step = mass(five.edges, self._log_clean("supply"), self.states["supply"]) * five.likelihood
            for removes in ("supply", "coil and supply"):
                if opened := self._opened(removes):
                    step = step * self._gain(five.at[None, :] / opened[0][:, None], opened[1])[:, None, :]
            return np.ones((*step.shape[:2], 1)), step[:, None, None, 0], step[:, None]
        start = mass(six.edges, self._log_clean("supply"), self.states["supply"]) * six.likelihood
        if opened := self._opened("supply"):
            start = start * self._gain(six.at[None, :] / opened[0][:, None], opened[1])[:, None, :]
        step = mass(five.edges[None, :] - six.at[:, None], self._log_clean("coil"), self.states["coil"])
        step = step * five.likelihood * self._across("coil", np.maximum(five.at[None, :] - six.at[:, None], 0.0))
        if opened := self._opened("coil and supply"):
            step = step * self._gain(five.at[None, :] / opened[0][:, None], opened[1])[:, None, None, :]
        return start, step, np.einsum("qsi,qcij->qcsj", start, step, optimize=True)

    @cached_property
    def _inlet(self) -> tuple[Array, Array, list[int]]:
        """Drops of the inlet beyond its clean one (Q, M), their weights (Q, M), and the state of each."""
        states = self.states["inlet"]
        points, weights = np.polynomial.hermite_e.hermegauss(5)
        weights = weights / weights.sum()
        clean = np.exp(self._log_clean("inlet"))
        excess, chance, which = [np.zeros_like(clean)], [np.ones_like(clean)], [0]
        for s in range(1, len(states.causes)):
            for point, weight in zip(points, weights, strict=True):
                factor = np.exp(states.mean[s] + states.spread[s] * point)
                excess.append(np.maximum(clean * (factor - 1), 0.0))
                chance.append(np.full_like(clean, weight))
                which.append(s)
        return np.stack(excess, 1), np.stack(chance, 1), which

    @cached_property
    def _wheel(self) -> tuple[Array, Array]:
        """(Q, M, j, k) weight of the inlet's drops between suction j after the filter and pressure k before the coil,
        by what was read about the wheel itself (one cell j, k where nothing was), and the ln(speed) it takes to close
        the loop there."""
        excess, chance, _ = self._inlet
        three, five = self._nodes[3], self._nodes[5]
        total = (
            three.at[None, None, :, None]
            + five.at[None, None, None, :]
            + excess[:, :, None, None]
            - self._uncounted()[:, None, None, None]
        )
        weight = chance[:, :, None, None]
        if (four := self.evidence.taps.get(4)) is not None:
            clean = np.exp(self._log_clean("inlet"))[:, None, None]
            off = (three.at[None, None, :] + excess[:, :, None] + clean - four.value) / max(four.sd, 1.0)
            weight = weight * self._fits(off)[..., None]
        if self.evidence.static and not (3 in self.evidence.taps and 5 in self.evidence.taps):
            gauge = self.evidence.static
            weight = weight * self._fits((total - gauge.value) / np.hypot(gauge.sd, 0.03 * qty.INWC))
        return weight, self.fan.log_speed(self.airflow, total)

    @cached_property
    def _closure(self) -> Array:
        """(Q, I, RF, CS, B) weight with the fan closed; RF, CS are flattened pairs."""
        suction, pressure, which = self._suction[2], self._pressure[2], self._inlet[2]
        weight, fan_speed = self._wheel
        q, j, k = self.airflow.size, self._nodes[3].at.size, self._nodes[5].at.size
        rf = suction.reshape(q, 1, -1, j)
        cs = pressure.reshape(q, 1, -1, k).transpose(0, 1, 3, 2)
        starts = [which.index(state) for state in range(len(self.states["inlet"].causes))]
        read = weight.shape[2:] != (1, 1)
        by_speed = []
        for state in range(self.blower.states.mean.size):
            made = self.blower.density(state, fan_speed)
            side = (made * weight) @ cs if read else (made @ cs) * weight
            by_speed.append(rf @ np.add.reduceat(side, starts, axis=1))
        return np.stack(by_speed, axis=-1)

    # ------------------------------------------------------------------ heat and limit

    @cached_property
    def _heat(self) -> tuple[Array, Array, Array]:
        """(Q, G): likelihood of clock and rise; mean ln(input/plate); mean rise [K]."""
        e, states = self.evidence, self.states["input"]
        q = self.airflow[:, None]
        plate = e.plate_input
        if plate is None:
            ones = np.ones((self.airflow.size, states.mean.size))
            return ones, np.zeros_like(ones), np.full_like(ones, e.rise.value if e.rise else np.nan)
        rise_sd_eff = e.efficiency.sd / e.efficiency.value
        per_plate = plate * e.efficiency.value / (e.sensible * q)
        # Each reading is a straight line in ln(input): what it says ln(input/plate) is, and how surely.
        lines: list[tuple[Array, float]] = []
        if e.clocked:
            lines.append((np.full_like(q, np.log(e.clocked.value / plate)), e.clocked.sd / e.clocked.value))
        if e.rise:
            lines.append((np.log(e.rise.value / per_plate), float(np.hypot(e.rise.sd / e.rise.value, rise_sd_eff))))
        likelihood = np.zeros((self.airflow.size, states.mean.size))
        mean = np.zeros_like(likelihood)
        for wrong in range(2 ** len(lines)):
            precision = 1 / states.spread[None, :] ** 2 + np.zeros_like(likelihood)
            pull = states.mean[None, :] / states.spread[None, :] ** 2 + np.zeros_like(likelihood)
            square = states.mean[None, :] ** 2 / states.spread[None, :] ** 2 + np.zeros_like(likelihood)
            scale = np.log(1 / states.spread[None, :]) + np.zeros_like(likelihood)
            share = 1.0
            for n, (line, sd) in enumerate(lines):
                if wrong >> n & 1:
                    share *= self._blunder
                    sd = 0.35
                else:
                    share *= 1 - self._blunder
                precision = precision + 1 / sd**2
                pull = pull + line / sd**2
                square = square + line**2 / sd**2
                scale = scale - np.log(sd)
            part = share * np.exp(scale - 0.5 * np.log(precision) - 0.5 * (square - pull**2 / precision))
            likelihood += part
            mean += part * pull / precision
        mean = mean / np.maximum(likelihood, 1e-300)
        if e.airflow:
            sd = e.airflow.sd / e.airflow.value
            likelihood = likelihood * self._fits((np.log(q) - np.log(e.airflow.value)) / sd)
        return likelihood, mean, per_plate * np.exp(mean)

    @cached_property
    def _event(self) -> Array:
        """(Q, G, L) chance of the complaint's event by heat and air alone."""
        e, rise = self.evidence, self._heat[2]
        shape = (*rise.shape, len(self.limit.manners))
        if e.cooling_airflow_needed is not None:
            low = ndtr((np.log(e.cooling_airflow_needed) - np.log(self.airflow)) / 0.10)
            return np.broadcast_to(low[:, None, None], shape)
        if e.limit_opens is None and e.plate_input is None:
            return np.full(shape, 0.5)
        return self.limit.opened_by_heat(rise)

    # ------------------------------------------------------------------ what the sets see

    @cached_property
    def _heard(self) -> tuple[Array, Array]:
        """(Q, G, L) weight of heat, trip and step in ln(airflow); and its part in which heat opened the limit."""
        heat = (self._heat[0] * self._log_step[:, None])[:, :, None]
        hot, cold = self.limit.at_trip(self._heat[2])
        happened = heat * self._event * hot
        return happened + heat * (1 - self._event) * cold, happened

    @cached_property
    def _tables(self) -> tuple[Array, Array]:
        """(I, RF, CS, B, G, L) likelihood, and its part in which heat opened the limit."""
        closed = self._closure
        weight, happened = self._heard
        both = np.concatenate([a.reshape(a.shape[0], -1) for a in (weight, happened)], axis=1)
        told = np.tensordot(closed, both, axes=(0, 0)).reshape(*closed.shape[1:], 2, *weight.shape[1:])
        return told[..., 0, :, :], told[..., 1, :, :]

    def weigh(self, members: Array, causes: Sequence[str]) -> tuple[Array, Array]:
        """Likelihood of the measured evidence under each set, and the chance of the complaint's event under it.

        `members` is (sets, causes) of 0 and 1; both results are (sets,).
        """
        likelihood, event = self._tables
        at = {name: states.index_many(members, causes) for name, states in self.states.items()}
        coil = at["coil"] if self.evidence.coil else np.zeros(len(members), dtype=np.int64)
        place = (
            at["inlet"],
            at["return"] * len(self.states["filter"].causes) + at["filter"],
            coil * len(self.states["supply"].causes) + at["supply"],
            at["blower"],
            at["input"],
        )
        limit = self.limit.index_many(members, causes)
        weight = likelihood[(*place, self.limit.manner[limit])]
        chance = event[(*place, self.limit.manner[limit])] / np.maximum(weight, 1e-300)
        tested = np.array([state.likelihood for state in self.limit.states])[limit]
        return weight * tested * self.plate.weigh(members, causes), chance

    def moments(self, present: frozenset[str]) -> Moments:
        """Means and spreads of airflow, input, blower speed and drops, given a set of causes and that no reading is
        a blunder: what is built on them must show the readings again."""
        sure = PathBelief(self.evidence, self.knowledge, present, blunders=False)
        return sure.moments_of(sure.joint(present))

    def joint(self, present: frozenset[str], opened: bool = False) -> Joint:
        """The weights of the grids under a set of causes, blunders among the readings allowed for; `opened`: given
        that heat opened the limit, unless no heat that the readings allow could have."""
        if (present, opened) not in self._joints:
            self._joints[present, opened] = self._joint(present, opened)
        return self._joints[present, opened]

    def comes_back(self, present: frozenset[str]) -> float:
        """Share of the supply air that comes straight back to the furnace with these causes present."""
        return max(
            (e.factor for c in present for e in self._effects.get(c, ()) if e.on == "recirculation"), default=0.0
        )

    def _joint(self, present: frozenset[str], opened: bool) -> Joint:
        at = {name: states.index(present) for name, states in self.states.items()}
        if not self.evidence.coil:
            at["coil"] = 0
        at["limit"] = self.limit.index(present)
        excess, _, which = self._inlet
        first = which.index(at["inlet"])
        columns = slice(first, first + which.count(at["inlet"]))
        start_r, step_f, suction = self._suction
        start_s, step_c, pressure = self._pressure
        suction, pressure = suction[:, at["return"], at["filter"]], pressure[:, at["coil"], at["supply"]]
        wheel, fan_speed = (a[:, columns] for a in self._wheel)
        heard = self._heard[int(opened)][:, at["input"], self.limit.manner[at["limit"]]]
        # What is small is multiplied first: of the large arrays as few are made as can be.
        weight = wheel * (suction * heard[:, None])[:, None, :, None] * pressure[:, None, None, :]
        weight *= self.blower.density(at["blower"], fan_speed)
        whole = weight.sum()
        if opened and whole < 1e-280:
            return self._joint(present, opened=False)
        weight /= max(whole, 1e-300)
        by_total = weight.sum(1)
        back = start_r[:, at["return"], :, None] * step_f[:, at["filter"]]
        ahead = start_s[:, at["supply"], :, None] * step_c[:, at["coil"]] if self.evidence.coil else pressure[:, None]
        speed = _over(weight, np.exp(fan_speed))
        logs = _over(weight, self.blower.motor_at(at["blower"], fan_speed))
        wide = float(np.hypot(logs.sd, self.blower.motor_left(at["blower"])))
        motor = Gauge(float(np.exp(logs.value)), float(np.exp(logs.value)) * wide)
        return Joint(
            back * (by_total.sum(2) / np.maximum(suction, 1e-300))[:, None, :],
            ahead * (by_total.sum(1) / np.maximum(pressure, 1e-300))[:, None, :],
            weight.sum((2, 3)),
            by_total,
            excess[:, columns],
            speed,
            motor,
            at,
        )

    def moments_of(self, joint: Joint) -> Moments:
        """Means and spreads of what the weights hold."""
        two, three, five = self._nodes[2].at, self._nodes[3].at, self._nodes[5].at
        six = self._nodes[6].at if self.evidence.coil else np.zeros(1)
        by_flow, g = joint.by_total.sum((1, 2)), joint.place["input"]
        step = five[None, None, :] - six[None, :, None]
        ahead = (
            {"coil": step, "supply": six[None, :, None]} if self.evidence.coil else {"coil": 0 * step, "supply": step}
        )
        drops = {
            "return": _over(joint.by_return, two[None, :, None]),
            "filter": _over(joint.by_return, np.maximum(three[None, None, :] - two[None, :, None], 0.0)),
            "inlet": _over(joint.by_inlet, joint.excess + np.exp(self._log_clean("inlet"))[:, None]),
            **{part: _over(joint.by_supply, np.maximum(drop, 0.0)) for part, drop in ahead.items()},
        }
        _, log_input, rise = self._heat
        return Moments(
            _over(by_flow, self.airflow),
            _over(by_flow, (self.evidence.plate_input or 0.0) * np.exp(log_input[:, g])),
            joint.speed,
            joint.motor,
            drops,
            _over(by_flow, rise[:, g]),
        )

    def total_of(self, joint: Joint) -> Gauge:
        """Mean and spread of the pressure between the taps after the filter and before the coil [Pa]."""
        return _over(joint.by_total, self._nodes[3].at[None, :, None] + self._nodes[5].at[None, None, :])


def _over(weight: Array, values: Array) -> Gauge:
    first = weight * values
    mean = float(first.sum())
    return Gauge(mean, _spread(float((first * values).sum()), mean))


def _spread(square: float, mean: float) -> float:
    return float(np.sqrt(max(square - mean**2, 0.0)))
