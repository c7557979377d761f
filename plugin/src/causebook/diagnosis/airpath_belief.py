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
from numpy.typing import NDArray
from scipy.special import ndtr

from causebook.diagnosis.blower_belief import blower_belief
from causebook.diagnosis.evidence import Array, Evidence, Gauge
from causebook.diagnosis.pressure_grid import Node, mass, node
from causebook.diagnosis.states import states_of
from causebook.knowledge.model import Knowledge

INWC = 249.08891
PATH_PARTS = ("return", "filter", "inlet", "coil", "supply")
#: Parts in which two causes at once are kept apart (their drops multiply); elsewhere the stronger hides the weaker.
PAIRED_PARTS = ("return", "filter")
#: Sizes of the airflow grids, over all and about a reading.
AIRFLOWS, FINE_AIRFLOWS = 20, 11
LIMIT_STATES = ("limit", "hot-spot", "recirculation")
#: Shape of an induction or electronic blower when no table is known: static over its value at rated airflow,
#: against airflow over rated airflow (expert estimate, after the shape of published furnace fan tables).
GENERIC_FAN = (np.array([0.02, 0.35, 0.6, 0.8, 0.9, 1.0, 1.1, 1.2, 1.3, 1.45]),
               np.array([1.95, 1.85, 1.70, 1.45, 1.25, 1.0, 0.72, 0.42, 0.12, 0.004]))


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

    def __init__(self, evidence: Evidence, knowledge: Knowledge, causes: Iterable[str],
                 blunders: bool = True) -> None:
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
        effects_path = {c: [e for e in found if not (e.labelled and e.on in evidence.clean)]
                        for c, found in effects_path.items()}
        self._effects = effects
        self.exponent = {p: model[p].exponent for p in PATH_PARTS}
        self.usual_at_rated = {p: (model[p].clean_drop * INWC * evidence.density_ratio, evidence.rated_airflow)
                               for p in PATH_PARTS}
        self.usual_spread = {p: model[p].spread for p in PATH_PARTS}
        self.clean_at_rated = dict(self.usual_at_rated)
        spreads = dict(self.usual_spread)
        for part, (gauge, at) in evidence.clean.items():
            self.clean_at_rated[part] = (gauge.value, at)
            spreads[part] = gauge.sd
        self.states = {p: states_of([p], effects_path, spreads[p], "all" if p in PAIRED_PARTS else "none")
                       for p in PATH_PARTS}
        fan_sd = evidence.fan.sd if evidence.fan else self._constant("blower-strength-spread")
        self.blower = blower_belief(effects_path, fan_sd, evidence.motor_speed, self._blunder)
        self.states["blower"] = self.blower.states
        self.states["input"] = states_of(["input"], effects, self._constant("input-spread"))
        self._setting_causes = frozenset(c for c, found in effects.items() if any(e.on == "setting" for e in found))
        self._joints: dict[tuple[frozenset[str], bool], Joint] = {}
        self._limit_effects = {c: e for c, found in effects.items() for e in found if e.on in LIMIT_STATES}

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
            spread = np.sqrt((e.rise.sd / e.rise.value) ** 2 + (e.efficiency.sd / e.efficiency.value) ** 2 + 0.03 ** 2)
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
        scale = 0.25 * INWC
        taps = self.evidence.taps
        return {n: node(taps.get(n), self._blunder, scale) for n in (2, 3, 5, 6)}

    # ------------------------------------------------------------------ the fan

    @cached_property
    def _fan(self) -> tuple[Array, Array]:
        e = self.evidence
        if e.fan:
            return e.fan.airflow, e.fan.static
        flow, static = GENERIC_FAN
        usual = self._constant("generic-blower-static") * INWC * e.density_ratio
        return flow * e.rated_airflow, static * usual

    @cached_property
    def _speed_curve(self) -> tuple[Array, Array]:
        """For each airflow: ln(speed) grid and ln(pressure made there) (Q, N), rising with speed."""
        flow, static = self._fan
        log_speed = np.linspace(np.log(0.08), np.log(2.6), 90)
        speed = np.exp(log_speed)
        at = self.airflow[:, None] / speed[None, :]
        slope = (static[-1] - static[-2]) / (flow[-1] - flow[-2])
        made = np.where(at <= flow[-1], np.interp(at, flow, static), static[-1] + slope * (at - flow[-1]))
        made = np.maximum(made * speed[None, :] ** 2, 1e-6)
        return log_speed, np.maximum.accumulate(np.log(made) + 1e-9 * np.arange(90)[None, :], axis=1)

    def speed_for(self, pressure: Array) -> Array:
        """ln(speed factor) the fan needs to make `pressure` (Q, ...) at each airflow."""
        log_speed, log_made = self._speed_curve
        wanted = np.log(np.maximum(pressure, 1e-6))
        flat = wanted.reshape(wanted.shape[0], -1)
        out = np.empty_like(flat)
        for i in range(flat.shape[0]):
            out[i] = np.interp(flat[i], log_made[i], log_speed)
        return out.reshape(wanted.shape)

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
        heat = e.clocked or (Gauge(e.plate_input, e.plate_input * self._constant("input-unclocked-spread"))
                             if e.plate_input else None)
        if test is None:
            return None
        if test.rise_ratio is not None:
            return self._total, (np.full(self.airflow.size, test.rise_ratio.value),
                                 test.rise_ratio.sd / test.rise_ratio.value)
        if heat is None or test.rise is None:
            return None
        # No steady rise as found to compare with: at each airflow it follows from the heat.
        before = heat.value * e.efficiency.value / (e.sensible * self.airflow)
        spread = np.sqrt((test.rise.sd / test.rise.value) ** 2 + (heat.sd / heat.value) ** 2
                         + (e.efficiency.sd / e.efficiency.value) ** 2)
        return self._total, (test.rise.value / before, float(spread))

    @cached_property
    def _total(self) -> Array:
        """Total the fan works against at each airflow: as read, else as its own table gives."""
        taps = self.evidence.taps
        if 3 in taps and 5 in taps:
            return np.full(self.airflow.size, taps[3].value + taps[5].value)
        if self.evidence.static:
            return np.full(self.airflow.size, self.evidence.static.value)
        flow, static = self._fan
        return np.maximum(np.interp(self.airflow, flow, static), 0.02 * INWC)

    def _gain(self, share: Array, read: tuple[Array, float]) -> Array:
        """Likelihood of a rise ratio when `share` (Q, ...) of the total is taken away.

        Solves s²·T(uQ/s) = (1 − share)·z·u² for the airflow ratio u by a few damped steps on the fan's own curve.
        """
        flow, static = self._fan
        wide = (slice(None),) + (None,) * (share.ndim - 1)
        total = self._total[wide]
        speed = np.exp(self.speed_for(self._total[:, None])[:, 0])[wide]
        q = self.airflow[wide]
        left = np.clip(1 - share, 0.02, 1.0) * total
        low, high = np.ones_like(share), np.full_like(share, 3.0)
        slope = (static[-1] - static[-2]) / (flow[-1] - flow[-2])
        for _ in range(14):
            u = 0.5 * (low + high)
            at = u * q / speed
            made = speed ** 2 * np.where(at <= flow[-1], np.interp(at, flow, static),
                                         static[-1] + slope * (at - flow[-1]))
            more = made > left * u ** 2
            low, high = np.where(more, u, low), np.where(more, high, u)
        expected = 1 / (0.5 * (low + high))
        ratio = read[0][wide]
        sd = np.hypot(read[1] * ratio, self._constant("opened-path-spread"))
        return ((1 - self._blunder) * np.exp(-0.5 * ((ratio - expected) / sd) ** 2) / sd
                + self._blunder * np.exp(-0.5 * ((ratio - 1) / 0.3) ** 2) / 0.3)

    def _across(self, part: str, drop: Array) -> Array:
        """Likelihood of a drop read with both hoses at once over one part, at each drop [Pa]."""
        read = self.evidence.across.get(part)
        if read is None:
            return np.ones_like(drop)
        hit = np.exp(-0.5 * ((drop - read.value) / read.sd) ** 2) / read.sd
        return (1 - self._blunder) * hit + self._blunder * np.exp(-0.5 * ((drop - read.value) / INWC) ** 2) / INWC

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
    def _closure(self) -> tuple[Array, Array]:
        """(Q, I, RF, CS, B) weight with the fan closed (RF, CS are flattened pairs), and the ln(speed) it takes."""
        suction, pressure = self._suction[2], self._pressure[2]
        excess, chance, which = self._inlet
        three, five = self._nodes[3], self._nodes[5]
        q = self.airflow.size
        total = (three.at[None, None, :, None] + five.at[None, None, None, :] + excess[:, :, None, None]
                 - self._uncounted()[:, None, None, None])
        fan_speed = self.speed_for(total)
        if (four := self.evidence.taps.get(4)) is not None:
            clean = np.exp(self._log_clean("inlet"))[:, None, None]
            off = (three.at[None, None, :] + excess[:, :, None] + clean - four.value) / max(four.sd, 1.0)
            chance = chance[:, :, None] * (0.98 * np.exp(-0.5 * off ** 2) + 0.02 * 0.1)
        else:
            chance = np.broadcast_to(chance[:, :, None], (*chance.shape, three.at.size))
        if self.evidence.static and not (3 in self.evidence.taps and 5 in self.evidence.taps):
            gauge = self.evidence.static
            off = (total - gauge.value) / np.hypot(gauge.sd, 0.03 * INWC)
            seen = 0.98 * np.exp(-0.5 * off ** 2) + 0.02 * 0.1
        else:
            seen = np.ones(())
        rf = suction.reshape(q, 1, -1, three.at.size)
        cs = pressure.reshape(q, 1, -1, five.at.size).transpose(0, 1, 3, 2)
        starts = [which.index(state) for state in range(len(self.states["inlet"].causes))]
        by_speed = []
        for k in range(self.blower.states.mean.size):
            made = self.blower.density(k, fan_speed) * seen
            side = np.add.reduceat((made @ cs) * chance[:, :, :, None], starts, axis=1)
            by_speed.append(rf @ side)
        return np.stack(by_speed, axis=-1), fan_speed

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
                precision = precision + 1 / sd ** 2
                pull = pull + line / sd ** 2
                square = square + line ** 2 / sd ** 2
                scale = scale - np.log(sd)
            part = share * np.exp(scale - 0.5 * np.log(precision) - 0.5 * (square - pull ** 2 / precision))
            likelihood += part
            mean += part * pull / precision
        mean = mean / np.maximum(likelihood, 1e-300)
        if e.airflow:
            sd = e.airflow.sd / e.airflow.value
            off = (np.log(q) - np.log(e.airflow.value)) / sd
            likelihood = likelihood * (0.98 * np.exp(-0.5 * off ** 2) + 0.02 * 0.1)
        return likelihood, mean, per_plate * np.exp(mean)

    @cached_property
    def limit_states(self) -> list[tuple[frozenset[str], float, float, float, float]]:
        """(causes, shift of opening temperature [K], its sd, factor on the body's rise, likelihood of the test)."""
        e = self.evidence
        out = []
        base_sd = self._constant("limit-opening-spread") * 5 / 9
        for cause in (None, *sorted(self._limit_effects)):
            effect = self._limit_effects[cause] if cause else None
            shift, sd, body = 0.0, base_sd, 1.0
            if effect and effect.on == "limit":
                shift, sd = effect.factor * 5 / 9, float(np.hypot(effect.spread * 5 / 9, base_sd))
            elif effect and effect.on == "hot-spot":
                body = effect.factor
            elif effect and effect.on == "recirculation" and not e.room_known:
                body = 1 + effect.factor
            likelihood = 1.0
            if e.limit_found and e.limit_opens is not None:
                read = e.limit_found.value - e.limit_opens
                wide = np.hypot(sd, e.limit_found.sd)
                likelihood = float((1 - self._blunder) * np.exp(-0.5 * ((read - shift) / wide) ** 2) / wide
                                   + self._blunder * np.exp(-0.5 * (read / 25) ** 2) / 25)
                precision = 1 / sd ** 2 + 1 / e.limit_found.sd ** 2
                shift = (shift / sd ** 2 + read / e.limit_found.sd ** 2) / precision
                sd = float(np.sqrt(1 / precision))
            likelihood *= self._return_likelihood(effect.factor if effect and effect.on == "recirculation" else 0.0)
            out.append((frozenset([cause] if cause else []), shift, sd, body, likelihood))
        return out

    @cached_property
    def limit_opens(self) -> float:
        """Temperature at which a sound limit opens [K]: its marking, else what a rise beyond the plate's brings."""
        e = self.evidence
        if e.limit_opens is not None:
            return e.limit_opens
        most = e.rise_maximum or self._constant("usual-rise-maximum") * 5 / 9
        return (e.return_temperature.value
                + self._constant("limit-body-factor") * self._constant("limit-beyond-plate") * most)

    def _return_likelihood(self, share: float) -> float:
        """How well the warmth of the return above the rooms fits a share of the supply air coming straight back."""
        gap = self.evidence.return_above_room
        if gap is None:
            return 1.0
        rise = self.evidence.rise or self.evidence.rise_at_trip or Gauge(30.0, 5.0)
        # Mixing by mass: (1 − x)·room + x·supply, so the return stands x/(1 − x) of the rise above the rooms.
        mean = share / (1 - share) * rise.value
        sd = np.hypot(gap.sd, max(0.5 * mean, self._constant("return-room-spread")))
        return float((1 - self._blunder) * np.exp(-0.5 * ((gap.value - mean) / sd) ** 2) / sd
                     + self._blunder * np.exp(-0.5 * (gap.value / 10) ** 2) / 10)

    @cached_property
    def _event(self) -> Array:
        """(Q, G, L) chance of the complaint's event by heat and air alone."""
        e = self.evidence
        _, _, rise = self._heat
        shape = (*rise.shape, len(self.limit_states))
        if e.cooling_airflow_needed is not None:
            low = ndtr((np.log(e.cooling_airflow_needed) - np.log(self.airflow)) / 0.10)
            return np.broadcast_to(low[:, None, None], shape)
        if e.limit_opens is None and self.evidence.plate_input is None:
            return np.full(shape, 0.5)
        factor = self.constants["limit-body-factor"]
        out = np.empty(shape)
        for n, (_, shift, sd, body, _) in enumerate(self.limit_states):
            hot = e.return_temperature.value + factor.value * body * rise
            spread = np.sqrt((factor.spread * rise) ** 2 + sd ** 2 + e.return_temperature.sd ** 2 + (0.03 * rise) ** 2)
            out[..., n] = ndtr((hot - (self.limit_opens + shift)) / spread)
        return out

    @cached_property
    def _at_trip(self) -> tuple[Array, Array]:
        """(Q, G, L) density of ln(rise at the trip) if heat opened the limit, and if something else did.

        Heat opens it when its body stands at the opening temperature, however high the steady rise would have gone:
        so the rise at the trip speaks of the limit, and is only a lower bound for the steady rise.
        """
        e, rise = self.evidence, self._heat[2]
        read, factor = e.rise_at_trip, self.constants["limit-body-factor"]
        ones = np.ones((*rise.shape, len(self.limit_states)))
        if read is None or e.cooling_airflow_needed is not None:
            return ones, ones
        share, noise = read.value / rise, read.sd / read.value
        below = ndtr(-np.log(share) / np.hypot(0.05, noise))[..., None]
        wide = self._blunder * np.exp(-0.5 * (np.log(read.value / 40.0) / 0.5) ** 2) / 0.5
        # Anything else may open it at any moment of the warming up.
        cold = (1 - self._blunder) * np.clip(share, 0.05, None)[..., None] * 2.5 * below * ones + wide
        if e.limit_opens is None:
            return cold, cold
        hot = np.empty_like(ones)
        for n, (_, shift, sd, body, _) in enumerate(self.limit_states):
            above = max(e.limit_opens + shift - e.return_temperature.value, 5.0)
            spread = np.sqrt((factor.spread / factor.value) ** 2 + (sd / above) ** 2 + noise ** 2 + 0.05 ** 2)
            off = np.log(read.value * factor.value * body / above) / spread
            hot[..., n] = (1 - self._blunder) * np.exp(-0.5 * off ** 2) / spread * below[..., 0] + wide
        return hot, cold

    # ------------------------------------------------------------------ what the sets see

    @cached_property
    def _heard(self) -> tuple[Array, Array]:
        """(Q, G, L) weight of heat, trip and step in ln(airflow); and its part in which heat opened the limit."""
        heat = (self._heat[0] * self._log_step[:, None])[:, :, None]
        hot, cold = self._at_trip
        happened = heat * self._event * hot
        return happened + heat * (1 - self._event) * cold, happened

    @cached_property
    def _tables(self) -> tuple[Array, Array]:
        """(I, RF, CS, B, G, L) likelihood, and its part in which heat opened the limit."""
        closed, _ = self._closure
        weight, happened = self._heard
        both = np.concatenate([a.reshape(a.shape[0], -1) for a in (weight, happened)], axis=1)
        told = np.tensordot(closed, both, axes=(0, 0)).reshape(*closed.shape[1:], 2, *weight.shape[1:])
        return told[..., 0, :, :], told[..., 1, :, :]

    def _limit_of(self, members: Array, causes: Sequence[str]) -> NDArray[np.int64]:
        """Limit state of each set: the present one that opens earliest, else normal."""
        index = np.zeros(len(members), dtype=np.int64)
        order = sorted(range(1, len(self.limit_states)), key=lambda n: -self.limit_states[n][1])
        for n in order:
            (cause,) = self.limit_states[n][0]
            if cause not in causes:
                continue
            index[members[:, causes.index(cause)] > 0] = n
        return index

    def _setting_weight(self, members: Array, causes: Sequence[str]) -> Array:
        """How well the strength of the setting found fits a setting that is (not) too low, by set."""
        strength = self.evidence.setting_strength
        if strength is None:
            return np.ones(len(members))
        base = self._constant("setting-spread")
        mean = np.full(len(members), np.log(self._constant("setting-strength")))
        sd = np.full(len(members), base)
        for cause in sorted(self._setting_causes):
            has = members[:, causes.index(cause)] > 0
            for effect in self._effects[cause]:
                if effect.on == "setting":
                    mean[has] = np.minimum(mean[has], np.log(effect.factor))
                    sd[has] = np.hypot(effect.spread, base)
        weight: Array = np.exp(-0.5 * ((np.log(strength) - mean) / sd) ** 2) / sd
        return weight

    def _label_weight(self, members: Array, causes: Sequence[str]) -> Array:
        """How well the drops that labels promise fit parts that are (not) too fine or too small, by set."""
        weight = np.ones(len(members))
        for part in self.evidence.clean:
            drop, at = self.clean_at_rated[part]
            usual, rated = self.usual_at_rated[part]
            promised = np.log(drop / usual) + self.exponent[part] * np.log(rated / at)
            mean, spread = np.zeros(len(members)), np.full(len(members), self.usual_spread[part])
            for cause, found in self._effects.items():
                for effect in found:
                    if effect.labelled and effect.on == part:
                        has = members[:, causes.index(cause)] > 0
                        mean[has] = np.log(effect.factor)
                        spread[has] = np.hypot(effect.spread, self.usual_spread[part])
            weight *= np.exp(-0.5 * ((promised - mean) / spread) ** 2) / spread
        return weight

    def section(self, side: str, members: Array, causes: Sequence[str]) -> tuple[Array, Array]:
        """Mean and spread, by set, of ln(narrowest section of the return or supply over the usual one): the drop goes
        with its square, so a duct too small for a drop of f times the usual has 1/√f of the section."""
        mean = np.zeros(len(members))
        square = np.full(len(members), self._constant("section-spread") ** 2)
        for column, cause in enumerate(causes):
            for effect in self._effects.get(cause, ()):
                if effect.narrows and effect.on == side:
                    mean -= 0.5 * np.log(effect.factor) * members[:, column]
                    square += (0.5 * effect.spread) ** 2 * members[:, column]
        return mean, np.sqrt(square)

    def _section_weight(self, members: Array, causes: Sequence[str]) -> Array:
        """How well the sections read fit ducts that are (not) too small, by set."""
        weight = np.ones(len(members))
        for side, read in self.evidence.sections.items():
            mean, spread = self.section(side, members, causes)
            wide = np.hypot(spread, read.sd / read.value)
            fits = np.exp(-0.5 * ((np.log(read.value) - mean) / wide) ** 2) / wide
            weight *= (1 - self._blunder) * fits + self._blunder
        return weight

    def weigh(self, members: Array, causes: Sequence[str]) -> tuple[Array, Array]:
        """Likelihood of the measured evidence under each set, and the chance of the complaint's event under it.

        `members` is (sets, causes) of 0 and 1; both results are (sets,).
        """
        likelihood, event = self._tables
        at = {name: states.index_many(members, causes) for name, states in self.states.items()}
        coil = at["coil"] if self.evidence.coil else np.zeros(len(members), dtype=np.int64)
        place = (at["inlet"], at["return"] * len(self.states["filter"].causes) + at["filter"],
                 coil * len(self.states["supply"].causes) + at["supply"], at["blower"], at["input"])
        limit = self._limit_of(members, causes)
        weight = likelihood[(*place, limit)]
        chance = event[(*place, limit)] / np.maximum(weight, 1e-300)
        tested = np.array([state[4] for state in self.limit_states])[limit]
        return weight * tested * self._setting_weight(members, causes) * self._label_weight(
            members, causes) * self._section_weight(members, causes), chance

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
        return max((e.factor for c in present for e in self._effects.get(c, ()) if e.on == "recirculation"),
                   default=0.0)

    def _joint(self, present: frozenset[str], opened: bool) -> Joint:
        names = sorted(present)
        one = np.ones((1, len(names)))
        at = {name: states.index(names) for name, states in self.states.items()}
        if not self.evidence.coil:
            at["coil"] = 0
        at["limit"] = int(self._limit_of(one, names)[0])
        excess, _, which = self._inlet
        columns = [m for m, state in enumerate(which) if state == at["inlet"]]
        start_r, step_f, suction = self._suction
        start_s, step_c, pressure = self._pressure
        suction, pressure = suction[:, at["return"], at["filter"]], pressure[:, at["coil"], at["supply"]]
        fan_speed = self._closure[1][:, columns]
        weight = self.blower.density(at["blower"], fan_speed) * suction[:, None, :, None] * pressure[:, None, None, :]
        weight = weight * self._heard[int(opened)][:, at["input"], at["limit"]][:, None, None, None]
        if opened and weight.sum() < 1e-280:
            return self._joint(present, opened=False)
        weight = weight / max(weight.sum(), 1e-300)
        by_total = weight.sum(1)
        back = start_r[:, at["return"], :, None] * step_f[:, at["filter"]]
        ahead = start_s[:, at["supply"], :, None] * step_c[:, at["coil"]] if self.evidence.coil else pressure[:, None]
        speed = np.exp(fan_speed)
        mean = float((weight * speed).sum())
        logs = self.blower.motor_at(at["blower"], fan_speed)
        middle = float((weight * logs).sum())
        wide = float(np.hypot(_spread(float((weight * logs ** 2).sum()), middle), self.blower.motor_left(at["blower"])))
        motor = Gauge(float(np.exp(middle)), float(np.exp(middle)) * wide)
        return Joint(back * (by_total.sum(2) / np.maximum(suction, 1e-300))[:, None, :],
                     ahead * (by_total.sum(1) / np.maximum(pressure, 1e-300))[:, None, :], weight.sum((2, 3)), by_total,
                     excess[:, columns], Gauge(mean, _spread(float((weight * speed ** 2).sum()), mean)), motor, at)

    def moments_of(self, joint: Joint) -> Moments:
        """Means and spreads of what the weights hold."""
        two, three, five = self._nodes[2].at, self._nodes[3].at, self._nodes[5].at
        six = self._nodes[6].at if self.evidence.coil else np.zeros(1)
        by_flow, g = joint.by_total.sum((1, 2)), joint.place["input"]
        step = five[None, None, :] - six[None, :, None]
        ahead = ({"coil": step, "supply": six[None, :, None]} if self.evidence.coil
                 else {"coil": 0 * step, "supply": step})
        drops = {"return": _over(joint.by_return, two[None, :, None]),
                 "filter": _over(joint.by_return, np.maximum(three[None, None, :] - two[None, :, None], 0.0)),
                 "inlet": _over(joint.by_inlet, joint.excess + np.exp(self._log_clean("inlet"))[:, None]),
                 **{part: _over(joint.by_supply, np.maximum(drop, 0.0)) for part, drop in ahead.items()}}
        _, log_input, rise = self._heat
        return Moments(_over(by_flow, self.airflow),
                       _over(by_flow, (self.evidence.plate_input or 0.0) * np.exp(log_input[:, g])), joint.speed,
                       joint.motor, drops,
                       _over(by_flow, rise[:, g]))

    def total_of(self, joint: Joint) -> Gauge:
        """Mean and spread of the pressure between the taps after the filter and before the coil [Pa]."""
        return _over(joint.by_total, self._nodes[3].at[None, :, None] + self._nodes[5].at[None, None, :])

    def eases(self, airflow: float, speed: float) -> float:
        """Gain in ln(airflow) for a fall of ln(resistance), by the slope of the fan where it runs."""
        flow, static = self._fan
        steep = 1.05
        made = np.maximum(np.interp(airflow / speed * np.array([1 / steep, steep]), flow, static), 1.0)
        return 1 / (2 + max(float(np.log(made[0] / made[1]) / (2 * np.log(steep))), 0.0))


def _over(weight: Array, values: Array) -> Gauge:
    mean = float((weight * values).sum())
    return Gauge(mean, _spread(float((weight * values ** 2).sum()), mean))


def _spread(square: float, mean: float) -> float:
    return float(np.sqrt(max(square - mean ** 2, 0.0)))
