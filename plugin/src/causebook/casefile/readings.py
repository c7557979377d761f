"""Readings of one step: texts with units, made quantities of the kind that the knowledge gives each reading."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from causebook import quantity as qty
from causebook.casefile.desk import Desk, Place, short
from causebook.casefile.marked_yaml import Entry, Key, Node
from causebook.casefile.meant import meant
from causebook.casefile.model import Taken
from causebook.casefile.possible import bounds_of, for_mode, possible, within_of
from causebook.knowledge.bounds import Bounds, read_bounds
from causebook.knowledge.model import Knowledge
from causebook.problems import did_you_mean
from causebook.quantity import Kind, Quantity, QuantityError

_KEYS = ("value", "accuracy", "void")
_OF_READING = re.compile(r"(?P<share>.*%)\s+of\s+reading")


def take_readings(
    block: Node, step: int, mode: str, void: str | Mapping[str, str], knowledge: Knowledge, where: str, desk: Desk
) -> tuple[Taken, ...]:
    """The readings of a step whose ids are resolved; faulty ones are laid on the desk and left out.

    `mode` is that of the furnace in the step.  `void` is the step's own: a reason for all its readings, or one for
    each of the named ones.
    """
    taken = []
    for name, entry in block.entries().items():
        reading = knowledge.readings.get(name)
        if reading is None or entry.node.value is None:
            continue
        at = f"{where}.{short(entry.key.text)}"
        reason = void if isinstance(void, str) else void.get(name, "")
        found = _take(entry.node, qty.KINDS[reading.kind], _Net.of(name, mode, knowledge), at, desk)
        if found:
            value, sd, own_reason = found
            taken.append(
                Taken(reading=name, value=value, step=step, sd=sd, void=own_reason or reason, line=entry.key.line)
            )
    return tuple(taken)


_OPEN_LOOP = re.compile(r"o\.?\s*l\.?|open(?:\s*(?:loop|line|circuit))?|infin\w*|∞", re.IGNORECASE)


def open_circuits(step: Node, knowledge: Knowledge) -> None:
    """Turn "OL" behind a reading of ohms into the finding that it means, in place: `seen: {igniter open circuit: yes}`.

    What a step says of that finding itself stands.
    """
    read = step.get("read")
    entries = read.entries() if read else {}
    for name, entry in list(entries.items()):
        reading = knowledge.readings.get(name)
        if reading is None or not reading.open_circuit or not _OPEN_LOOP.fullmatch((entry.node.text or "").strip()):
            continue
        del entries[name]
        if step.get("seen") is None:
            step.entries()["seen"] = Entry(Key("seen", entry.key.line, entry.key.column), Node({}, *_place(entry.node)))
        seen = step.get("seen")
        if seen is not None and isinstance(seen.value, dict):
            seen.value.setdefault(reading.open_circuit, Entry(entry.key, Node("yes", *_place(entry.node))))


def _place(node: Node) -> tuple[int, int]:
    return node.line, node.column


@dataclass(frozen=True, slots=True)
class _Net:
    """What a reading can be, and what it plausibly is, for the word of what was meant."""

    possible: Bounds
    plausible: Bounds | None

    @classmethod
    def of(cls, reading: str, mode: str, knowledge: Knowledge) -> _Net:
        kind = qty.KINDS[knowledge.readings[reading].kind]
        range_ = knowledge.ranges.get(reading)
        likely = for_mode(range_.plausible, mode) if range_ else ""
        within = within_of(reading, mode, knowledge)
        return cls(bounds_of(kind, within), read_bounds(likely, kind) if likely else None)


def _take(node: Node, kind: Kind, net: _Net, where: str, desk: Desk) -> tuple[Quantity, Quantity | None, str] | None:
    parts = node.entries()
    for name, entry in parts.items():
        if name not in _KEYS:
            desk.say(
                entry.key,
                f"{where}.{short(name)}",
                "unknown key",
                "one of " + ", ".join(_KEYS),
                did_you_mean(name, _KEYS),
            )
    value_node = node.get("value") if parts else node
    if value_node is None or value_node.text is None:
        desk.say(
            node,
            where,
            "has no value",
            f"a {kind.name} such as {kind.example!r}, or {{value: …, accuracy: …, void: …}}",
        )
        return None
    value = _read(value_node.text, kind, value_node, where, desk, net)
    accuracy, void = node.get("accuracy"), node.get("void")
    sd = None
    if value is not None and accuracy is not None and accuracy.value is not None:
        sd = _standard_uncertainty(accuracy, value, kind, f"{where}.accuracy", desk)
    if void is not None and (void.text or "").lower() in ("", "yes", "no", "true", "false"):
        desk.say(void, f"{where}.void", "no reason stands here", "the reason why the reading does not count")
    return None if value is None else (value, sd, (void.text or "") if void else "")


def _read(text: str, kind: Kind, at: Place, where: str, desk: Desk, net: _Net | None = None) -> Quantity | None:
    try:
        quantity = qty.parse(text, kind)
    except QuantityError as error:
        desk.refused(at, where, _said_open(error) if _is_open(text, kind) else error)
        return None
    try:
        return possible(quantity, kind, net.possible if net else None)
    except QuantityError as error:
        likely = meant(quantity, kind, net.plausible or net.possible) if net else ""
        desk.refused(
            at, where, QuantityError(error.found, error.expected, f"meant {likely}?" if likely else error.hint)
        )
        return None


def _is_open(text: str, kind: Kind) -> bool:
    return kind is qty.RESISTANCE and _OPEN_LOOP.fullmatch(text.strip()) is not None


def _said_open(error: QuantityError) -> QuantityError:
    return QuantityError(error.found, error.expected, "an open circuit has no ohms: say so in `told`")


def _standard_uncertainty(node: Node, value: Quantity, kind: Kind, where: str, desk: Desk) -> Quantity | None:
    """Limits of an instrument as a standard uncertainty: limits / √3.

    "2 degF" is an amount, "3 % of reading" a share of the value.  Source: a rectangular distribution,
    JCGM 100:2008, 4.3.7 (from memory).
    """
    text = node.text or ""
    amount = qty.TEMPERATURE_DIFFERENCE if kind.si == "K" else kind
    if of_reading := _OF_READING.fullmatch(text):
        share = _read(of_reading["share"], qty.SHARE, node, where, desk)
        if share is None:
            return None
        number = abs(qty.si(value, kind)) * qty.si(share, qty.SHARE)
    else:
        limits = _read(text, amount, node, where, desk)
        if limits is None:
            return None
        number = qty.si(limits, amount)
    if not number > 0:
        desk.say(node, where, f"{short(text)!r}", "an accuracy above zero, such as '2 degF' or '3 % of reading'")
        return None
    return qty.from_si(number / math.sqrt(3), amount)
