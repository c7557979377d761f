"""A case file to fill in: what a complaint is told by, in order of worth, as lines to uncomment.

As written it is a sound case with one step; every line that takes its `#` away is understood as it stands.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator

from causebook import quantity as qty
from causebook.knowledge.model import Knowledge, Reading
from causebook.knowledge.worth import findings_first, readings_first

READINGS, FINDINGS = 16, 12
"""So many of each are offered; the page of words has them all."""
PLATE = """\
# The rating plate, as it prints them. Take the # away where you know it.
# furnace:
#   kind: non-condensing        # or condensing (90 % and up)
#   fuel: natural gas           # or propane
#   made: 2016
#   input: 80000 Btu/h
#   output: 64000 Btu/h
#   rise: 40 to 70 degF
#   static maximum: 0.50 inH2O
#   counted as external: [return, filter, coil, supply]   # what the static rating counts
#   manifold: 3.5 inH2O
#   limit: {opens: 190 degF}
#   pressure switch: {closes: -0.65 inH2O}
#   flame current minimum: 0.8 µA
# blower: {motor: split capacitor, setting: medium-high, full load: 6.8 A, capacitor: 7.5 µF}
# filter: {kind: fine pleated, size: 16 x 20 x 1 in}
# coil: {cooling: 3 ton}
# site: {elevation: 600 ft, outdoors: 20 degF, meter dial: 2 ft^3, heating value: 1030 Btu/ft^3}
"""


def example(reading: Reading) -> str:
    """How somebody would write a reading: its own example, or its kind's with the sign of its place."""
    usual = reading.example or qty.KINDS[reading.kind].example
    return f"-{usual}" if reading.suction and not usual.startswith("-") else usual


def blank(family: str, knowledge: Knowledge, date: dt.date, *, title: str = "", words: str = "", done: str = "") -> str:
    """The text of a new case of a complaint family (an id); `title`, `words` and `done` come from a note, if any."""
    of = knowledge.families[family]
    return "\n".join(
        (
            f"# {of.name}: {of.complaint}",
            f"title: {_quoted(title or of.name)}   # symptom, then cause or equipment",
            "complaint:",
            f"  family: {family.replace('-', ' ')}",
            f"  words: {_quoted(words or 'not written down')}",
            "",
            PLATE,
            "visits:",
            f"  - date: {date}",
            "    steps:",
            f"      - do: {_quoted(done or _first_step(knowledge))}",
            "        read:",
            *_lines((r.id, example(r), r.where) for r in readings_first(family, knowledge)[:READINGS]),
            "        seen:",
            *_lines((f.id, "no", f.name) for f in findings_first(family, knowledge)[:FINDINGS]),
            "    # concluded:",
            '    #   root: {cause: "what changed when it was taken away, or: not tested"}',
            "",
        )
    )


def _first_step(knowledge: Knowledge) -> str:
    return next((test.name for test in knowledge.tests.values() if test.first), "Looked at the furnace")


def _lines(rows: Iterator[tuple[str, str, str]]) -> Iterator[str]:
    for id_, value, meaning in rows:
        written = f"          # {id_.replace('-', ' ')}: {value}"
        yield f"{written:<52}# {' '.join(meaning.split())}".rstrip(" #")


def _quoted(text: str) -> str:
    return json.dumps(" ".join(text.split()), ensure_ascii=False)
