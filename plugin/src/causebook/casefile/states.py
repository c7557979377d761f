"""States of the system in which a step may be done: `with: {filter: removed, return: opened at the filter slot}`.

A state is one of the part's words, alone or followed by how and where, or a value ("16 x 25 x 1 in", "0.5 in gap").
Synonyms are made one, so that the core meets one word a state.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from causebook.casefile.desk import Desk, short
from causebook.casefile.marked_yaml import Entry, Node
from causebook.knowledge.model import slug
from causebook.problems import did_you_mean

STATES: Mapping[str, tuple[str, ...]] = {
    "return": ("opened", "closed", "blocked", "clean"),
    "filter": ("removed", "clean", "opened", "blocked"),
    "inlet": ("opened", "clean"),
    "coil": ("removed", "opened", "clean", "dry", "wet"),
    "supply": ("opened", "closed", "blocked"),
    "registers": ("opened", "closed"),
    "dampers": ("opened", "closed"),
    "panel": ("opened", "closed", "removed"),
    "inner doors": ("opened", "closed"),
    "closet door": ("opened", "closed", "removed"),
    "windows": ("opened", "closed"),
    "exhaust fans": ("on", "off"),
    "other appliances": ("on", "off"),
    "zones": ("all", "one", "smallest"),
    "blower": ("one step up", "one step down", "set to", "off"),
    "burner": ("off", "low fire", "high fire"),
    "vent": ("opened", "closed", "disconnected"),
    "intake": ("opened", "closed", "disconnected"),
    "drain": ("opened", "closed"),
    "thermostat": ("removed", "bridged"),
}
"""Part -> the words a state of it may start with."""

SYNONYMS: Mapping[str, str] = {
    "open": "opened",
    "shut": "closed",
    "out": "removed",
    "off its hooks": "removed",
    "cleaned": "clean",
    "covered": "blocked",
    "taped": "blocked",
}
_VALUE = re.compile(r"[-+−]?\d[\d.,]*\s*\S")


def settle_states(states: Node, where: str, desk: Desk) -> None:
    """Check the states of one step and give each part and state its one name, in place."""
    for name, entry in list(states.entries().items()):
        if desk.full:
            return
        part = " ".join(slug(name).split("-"))
        at = f"{where}.{short(entry.key.text)}"
        if part not in STATES:
            desk.say(entry.key, at, "unknown part", "one of " + ", ".join(STATES), did_you_mean(part, STATES))
        elif settled := _state(part, entry, at, desk):
            entry.node.value = settled
            del states.entries()[name]
            states.entries()[part] = entry


def _state(part: str, entry: Entry, where: str, desk: Desk) -> str | None:
    known = STATES[part]
    text = " ".join((entry.node.text or "").split())
    for word, settled in [*SYNONYMS.items(), *((word, word) for word in known)]:
        if settled in known and re.match(rf"{re.escape(word)}(?![\w-])", text):
            return settled + text[len(word) :]
    if _VALUE.match(text):
        return text
    desk.say(
        entry.node,
        where,
        f"{short(text)!r} is no known state" if text else "no state stands here",
        "a text starting with " + ", ".join(known) + ", or a value with its unit",
        did_you_mean(text.partition(" ")[0], known),
    )
    return None
