"""How a finding is said: one sentence where it is present, another where it is absent, with its value and limit."""

from __future__ import annotations

import re

from causebook.knowledge.model import Finding

_OPTIONAL = re.compile(r"\[([^\[\]]*)\]")


def said(known: Finding, there: bool | None, value: str = "", limit: str = "", detail: str = "") -> str:
    """One finding in a sentence without its period.

    `there`: present, absent, or too close to call (None).  A part of the data's sentence in square brackets is left
    out where the value or the limit it names is not known.  `detail` follows where there is no single value.
    """
    if there is None:
        numbers = f" ({value}, limit {limit})" if value and limit else f" ({detail})" if detail else ""
        return f"{known.name}: too close to call{numbers}"
    sentence = known.present if there else known.absent
    if not sentence:
        sentence = known.name if there else f"Checked, not found: {known.name}"
    known_values = {"value": value, "limit": limit}

    def kept(part: re.Match[str]) -> str:
        needed = re.findall(r"\{(\w+)\}", part[1])
        return part[1] if all(known_values[name] for name in needed) else ""

    filled = _OPTIONAL.sub(kept, sentence).format(**known_values)
    return f"{filled} ({detail})" if detail and not (value and "{value}" in sentence) else filled


def whole(number: str) -> str:
    """A bound as people say it: "70.0 °F" is 70 °F."""
    return re.sub(r"(\d)\.0+(?=\D|$)", r"\1", number)


def in_running(name: str) -> str:
    """A name within a sentence: its first letter small, unless it begins with an abbreviation ("CO indoors")."""
    return name[:1].lower() + name[1:] if name[1:2].islower() else name
