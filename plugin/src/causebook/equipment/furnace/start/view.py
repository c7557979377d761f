"""A start as it is shown: the strip of stages with what proved each, and the circuit with the volts found and due."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from causebook.equipment.furnace.start.circuit import STRING, healthy
from causebook.equipment.furnace.start.devices import Flags
from causebook.equipment.furnace.start.model import Weighed
from causebook.equipment.furnace.start.sequence import GAS, HOLD, LIGHT, RUN, SENSE, STAGES, Start

SHOWN = 40
"""How many of the likeliest sets the picture is drawn from."""
LINE = ("fuse", "door-switch")
DEVICES = (*LINE, *STRING)
"""Devices between the transformer and the gas valve, in the order current meets them."""


@dataclass(frozen=True, slots=True)
class StageShown:
    """One stage of the start, with all that is wrong."""

    id: str
    name: str
    passed: float
    """Chance that it was passed."""
    ends: float
    """Chance that the start ends here."""
    proof: str
    """What was read or seen that proves it passed; empty where nothing does."""
    shown: str
    """What was read that shows it not passed; empty where nothing does."""
    proves: str
    """What would prove it."""
    missing: str


@dataclass(frozen=True, slots=True)
class Point:
    """One place of the circuit: volts as read, and as they would be with everything sound [V]."""

    name: str
    reading: str
    """The reading id, for its words."""
    read: float | None
    sound: float
    is_device: bool
    """Across a device, or to common behind it."""


@dataclass(frozen=True, slots=True)
class StartView:
    """All that is drawn of a start."""

    stages: tuple[StageShown, ...]
    points: tuple[Point, ...]
    ran: float
    """Chance that it ran to the end while somebody was there; the stages tell of the start with all that is wrong."""

    @property
    def end(self) -> StageShown:
        """Where the start most likely ends."""
        return max(self.stages, key=lambda s: s.ends)


def view_of(weighed: Weighed, chance: NDArray[np.float64]) -> StartView:
    """The picture of a start under a belief over the sets that were weighed."""
    order = np.argsort(-chance, kind="stable")[:SHOWN]
    share = chance[order] / chance[order].sum()
    ahead = weighed.ahead([int(n) for n in order])
    ends = np.zeros(len(STAGES))
    where = np.broadcast_to(ahead.whole.ends, ahead.whole.shape).astype(int)
    np.add.at(ends, where, share[:, None] * ahead.weights)
    ran = float(share @ ahead.comes_to(STAGES[RUN]))
    good, bad = _proofs(weighed)
    stages = [
        StageShown(
            id_, known.name, float(ends[n + 1 :].sum()), float(ends[n]), good[n], bad[n], known.proves, known.missing
        )
        for n, (id_, known) in enumerate(weighed.model.knowledge.stages.items())
    ]
    last = stages[RUN]
    stages[RUN] = StageShown(
        last.id, last.name, last.ends, last.ends, last.proof, last.shown, last.proves, last.missing
    )
    return StartView(tuple(stages), _points(weighed), ran)


PASSED: tuple[Callable[[Start], Flags], ...] = (
    lambda s: s.powered,
    lambda s: s.called,
    lambda s: s.switches_made,
    lambda s: s.opened_at_rest,
    lambda s: s.inducer_runs,
    lambda s: s.made & s.inducer_runs,
    lambda s: s.comes_to(GAS),
    lambda s: s.comes_to(LIGHT),
    lambda s: s.comes_to(SENSE),
    lambda s: s.comes_to(HOLD),
    lambda s: s.comes_to(RUN),
    lambda s: s.comes_to(RUN),
)
"""For each stage, what it means that it was passed."""


def _proofs(weighed: Weighed) -> tuple[list[str], list[str]]:
    """For each stage (what proves it passed, what proves it not passed): true of every start of which the proof is."""
    start = weighed.alone(np.eye(len(weighed.sets.causes), dtype=np.float32))
    good, bad = [""] * len(STAGES), [""] * len(STAGES)
    passed = [np.broadcast_to(holds(start), start.shape) for holds in PASSED]
    for proof in weighed.kept:
        holds = np.broadcast_to(proof.holds(start), start.shape)
        if not holds.any():
            continue
        for n, there in enumerate(passed):
            if not good[n] and proof.live and there[holds].all():
                good[n] = proof.says
            if not bad[n] and not proof.live and not there[holds].any():
                bad[n] = proof.says
    return good, bad


def _points(weighed: Weighed) -> tuple[Point, ...]:
    """Every device and the terminals behind it, as read and in a sound circuit before the valve is told to open."""
    sound, read = healthy(), weighed.record.readings
    names: Sequence[tuple[str, str, bool]] = [
        ("transformer", "secondary-volts", False),
        ("call at the board", "call-volts", False),
        *(
            (device.replace("-", " "), f"{kind}{device}", kind == "volts-across-")
            for device in DEVICES
            for kind in ("volts-across-", "volts-to-common-before-", "volts-to-common-after-")
        ),
        ("gas valve", "volts-at-gas-valve", False),
    ]
    out = []
    for name, reading, across in names:
        volts = (healthy(commanded=True) if reading == "volts-at-gas-valve" else sound).read(reading)
        assert volts is not None
        out.append(Point(name, reading, read.get(reading), float(volts), across))
    return tuple(out)
