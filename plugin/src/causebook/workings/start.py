"""A start walked through second by second, with what a meter shows at every stage."""

from __future__ import annotations

from collections.abc import Mapping

from causebook import quantity as qty
from causebook.equipment.furnace.start.circuit import NO_LOAD, STRING, healthy
from causebook.knowledge import load
from causebook.quantity import Quantity, q
from causebook.workings.forms import One, Word
from causebook.workings.model import Field, Line, Worked, Working

SHOWN: Mapping[str, tuple[str, ...]] = {
    "power": ("secondary-volts",),
    "call": ("call-volts",),
    "string": ("volts-across-limit", "volts-to-common-before-pressure-switch"),
    "rest": ("volts-across-pressure-switch", "volts-to-common-after-pressure-switch"),
    "suction": ("volts-across-pressure-switch", "volts-to-common-after-pressure-switch"),
    "gas": ("volts-at-gas-valve", "secondary-volts"),
}
"""Stage -> the readings of the 24 V circuit that belong to it."""


def _devices() -> Mapping[str, str]:
    return {name: name.replace("-", " ") for name in (*STRING, "fuse", "door-switch", "thermostat")}


def _furnace_start(
    closes: Quantity, opens: Quantity, suction: Quantity, manifold: Quantity, open_device: str | None
) -> Worked:
    knowledge = load()
    broken = {open_device: False} if open_device else {}
    ends = False
    steps: list[Line] = []
    last = knowledge.stages["power"]
    given = {name: abs(qty.us(value, qty.AIR_PRESSURE)) for name, value in (("closes", closes), ("suction", suction))}
    for stage in knowledge.stages.values():
        if ends:
            break
        before = stage.id in ("power", "call", "string", "rest", "inducer")
        circuit = healthy(
            {"pressure-switch": not before, **broken}, commanded=stage.id in ("gas", "light", "sense", "hold")
        )
        low, high = stage.seconds
        when = "at once" if high == 0 else f"{low:g} to {high:g} s"
        steps.append(Line(stage.name, when, None, stage.proves))
        last = stage
        for reading in SHOWN.get(stage.id, ()):
            volts = circuit.read(reading)
            if volts is not None:
                steps.append(
                    Line(f"{stage.name}: {knowledge.readings[reading].name.lower()}", q(float(volts), "V"), qty.VOLTAGE)
                )
        if stage.id == "suction":
            steps += [
                Line("Suction makes the pressure switch: suction", suction, qty.AIR_PRESSURE),
                Line("Suction makes the pressure switch: closes at", closes, qty.AIR_PRESSURE),
                Line("Suction makes the pressure switch: opens again at", opens, qty.AIR_PRESSURE),
            ]
            ends = given["suction"] < given["closes"]
        if stage.id == "gas":
            steps.append(Line("Gas valve: manifold", manifold, qty.GAS_PRESSURE))
        ends = ends or _stops(stage.id, open_device)
    says = (
        f"The start ends at “{last.name.lower()}”: {last.missing.lower()}."
        if ends
        else "The start runs to the end of the call."
    )
    return Worked((Line("It gets as far as", last.name, None, says),), tuple(steps))


def _stops(stage: str, open_: str | None) -> bool:
    """Does a start end at this stage with that device open?"""
    at = {"fuse": "power", "door-switch": "power", "thermostat": "call", "pressure-switch": "suction"}
    return open_ is not None and at.get(open_, "string") == stage


KINDS = (
    Working(
        "furnace-start",
        "A start, stage by stage",
        (
            Field("closes", "Pressure switch closes at", One(qty.AIR_PRESSURE)),
            Field("opens", "Pressure switch opens at", One(qty.AIR_PRESSURE)),
            Field("suction", "Suction of the inducer", One(qty.AIR_PRESSURE)),
            Field("manifold", "Manifold on the plate", One(qty.GAS_PRESSURE)),
            Field("open-device", "Standing open", Word(_devices, "a device of the 24-volt circuit"), needed=False),
        ),
        _furnace_start,
        f"24 V circuit as a network: {NO_LOAD:g} V without load, 40 VA transformer, usual loads (expert estimate)",
        "Times are usual ranges. The furnace's instructions come first.",
    ),
)
