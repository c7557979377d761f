"""What is held against the plate and the site: numbers that cannot be together, and what a reading needs of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from causebook import quantity as qty
from causebook.casefile.desk import Desk, Spot, short
from causebook.casefile.marked_yaml import Node
from causebook.casefile.model import Taken
from causebook.casefile.possible import HINT, bounds, possible
from causebook.quantity import Kind, QuantityError

NEEDS: Mapping[str, tuple[str, ...]] = {
    "meter-time": ("site.meter dial", "site.heating value"),
    "clocked-input": ("furnace.input",),
    "manifold": ("furnace.manifold",),
    "gas-inlet": ("furnace.inlet range",),
    "gas-inlet-at-rest": ("furnace.inlet range",),
    "gas-inlet-all-on": ("furnace.inlet range",),
    "limit-opened-at": ("furnace.limit",),
    "suction-at-pressure-switch": ("furnace.pressure switch",),
    "motor-speed": ("blower.speed",),
    "motor-amps": ("blower.full load",),
    "capacitor": ("blower.capacitor",),
}
"""Reading -> keys of the case file, by dotted path, without which nothing follows from it."""


def check_plate(root: Node, desk: Desk) -> None:
    """Output over input is an efficiency, and no furnace has one outside the bounds of efficiency."""
    node = root.get("furnace", "output")
    output, input_ = _si(node, qty.HEAT_RATE, "output"), _si(root.get("furnace", "input"), qty.HEAT_RATE, "input")
    if node is None or not output or not input_:
        return
    limits = bounds("efficiency")
    if not limits.hold(output / input_):
        share = qty.show(qty.from_si(output / input_, qty.SHARE), qty.SHARE)
        desk.say(
            node,
            "furnace.output",
            f"{short(node.text or '')!r} is {share} of the input",
            f"an output {limits.words} of the input",
            HINT,
        )


def check_clock(root: Node, readings: Sequence[Taken], where: str, desk: Desk) -> None:
    """The input that the dial, its time and the heating value make is one that a furnace can have."""
    dial = _si(root.get("site", "meter dial"), qty.VOLUME, "dial")
    heating_value = _si(root.get("site", "heating value"), qty.HEATING_VALUE, "gas heating value")
    time = next((taken for taken in readings if taken.reading == "meter-time" and not taken.void), None)
    if time is None or not dial or not heating_value:
        return
    watts, limits = dial * heating_value / qty.si(time.value, qty.DURATION), bounds("input")
    if watts > limits.high:
        most, made = (qty.show(qty.from_si(rate, qty.HEAT_RATE), qty.HEAT_RATE) for rate in (limits.high, watts))
        desk.say(
            Spot(time.line, 1),
            where,
            f"with the meter's dial this makes {made}",
            f"an input of at most {most}",
            "check the time and the `meter dial` under `site`",
        )


def _si(node: Node | None, kind: Kind, within: str) -> float | None:
    """The quantity of a node [SI]; None when there is none, or when its own message is due."""
    try:
        return qty.si(possible(qty.parse(node.text, kind), kind, bounds(within)), kind) if node and node.text else None
    except QuantityError:
        return None
