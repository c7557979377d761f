"""The call sheet: what the page on the phone needs to know, as a script, and the page itself.

The sheet fills in a case file at the furnace.  It knows of each complaint what is read and seen first, of each reading
its unit, sign and bounds, of the rating plate its fields.  What its numbers make is worked out on the device by the
formulas of `assets/sheet/numbers.js`, whose constants stand here and whose results the tests hold against the core.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from typing import Any, Literal, get_args, get_origin

from causebook import quantity as qty
from causebook.casefile.model import Block, Blower, Coil, Filter, Furnace, Job, Outcome, Reads, ReadsRange, Site
from causebook.casefile.possible import bounds_of, within_of
from causebook.casefile.trade_words import CHOICES
from causebook.knowledge.model import Knowledge, Reading
from causebook.knowledge.worth import findings_first, readings_first
from causebook.library.beginning import causes_of, first_tests
from causebook.library.facets import script
from causebook.physics import air
from causebook.quantity import Kind
from causebook.sizing.forms import BESIDE_THE_AIR
from causebook.survey.numbers import constant
from causebook.writeup import prose

DATA, PAGE, MANIFEST = "sheet/sheet-data.js", "sheet/index.md", "sheet/app.webmanifest"
FIRST = 14
"""Readings, and things to look at, that stand open; all others are found by their words."""
CHANGED = (
    *("filter", "wheel", "capacitor", "motor", "blower", "coil", "return", "supply", "registers", "limit", "orifices"),
    *("manifold", "bypass"),
    *BESIDE_THE_AIR,
)
"""Parts that a repair changes."""
CHANGES = ("new", "clean", "adjusted", "reconnected", "opened", "closed", "removed")
PLATE: tuple[tuple[str, type[Block], str], ...] = (
    *(("job", Job, key) for key in ("make", "model", "serial", "number", "technician", "code", "parts")),
    *(("furnace", Furnace, key) for key in ("kind", "fuel", "made", "stages", "input", "output", "efficiency", "rise")),
    *(("furnace", Furnace, key) for key in ("outlet maximum", "static maximum", "manifold", "inlet range")),
    *(("furnace", Furnace, key) for key in ("flame current minimum", "orifice", "position", "zoned")),
    *(("blower", Blower, key) for key in ("motor", "setting", "full load", "capacitor", "speed")),
    *(("filter", Filter, key) for key in ("kind", "size")),
    ("coil", Coil, "cooling"),
    *(
        ("site", Site, key)
        for key in ("elevation", "outdoors", "room", "meter dial", "heating value", "design heat loss")
    ),
)
"""Fields of the plate and the site that the sheet shows, in the order in which one meets them."""
NESTED = {"limit": ("opens", "closes"), "pressure switch": ("closes", "opens")}
HELD_AGAINST = {
    "maximum-rise": ("furnace.rise", 1),
    "minimum-rise": ("furnace.rise", 0),
    "rated-external-static": ("furnace.static maximum", None),
    "plate-input": ("furnace.input", None),
    "plate-manifold": ("furnace.manifold", None),
    "lowest-gas-inlet": ("furnace.inlet range", 0),
    "highest-gas-inlet": ("furnace.inlet range", 1),
    "limit-marking": ("furnace.limit.opens", None),
    "pressure-switch-closes-at": ("furnace.pressure switch.closes", None),
    "least-flame-current": ("furnace.flame current minimum", None),
    "blower-speed-for-this-setting": ("blower.speed", None),
    "capacitor-marking": ("blower.capacitor", None),
    "full-load-current": ("blower.full load", None),
}
"""Number of the page "by readings" -> where it stands in a case file, and which end of a range it is."""


def sheet_script(knowledge: Knowledge) -> str:
    """The script that sets `causebookSheet`."""
    return script(
        "causebookSheet",
        {
            "families": {id_: _family(id_, knowledge) for id_ in knowledge.families},
            "first": FIRST,
            "readings": {r.id: _reading(r) for r in knowledge.readings.values()},
            "findings": {f.id: [prose.plain(f.name), prose.plain(f.how)] for f in knowledge.findings.values()},
            "causes": {c.id: prose.plain(c.name) for c in knowledge.causes.values()},
            "stops": {s.id: prose.plain(s.name) for s in knowledge.stops.values()},
            "plate": list(plate()),
            "heldAgainst": HELD_AGAINST,
            "states": {part.id.replace("-", " "): list(part.words) for part in knowledge.states.values()},
            "changed": list(dict.fromkeys(CHANGED)),
            "changes": list(CHANGES),
            "outcomes": [[word.value, CHOICES.get(word.value, "")] for word in Outcome],
            "physics": _physics(knowledge),
        },
    )


def manifest(name: str) -> str:
    """What lets a phone put the sheet on its home screen."""
    icon = {"src": "../assets/mark.svg", "sizes": "any", "type": "image/svg+xml", "purpose": "any"}
    return json.dumps(
        {
            "name": f"{name}: call sheet",
            "short_name": "Call sheet",
            "start_url": "index.html",
            "scope": "../",
            "display": "standalone",
            "background_color": "#f8f5ee",
            "theme_color": "#f8f5ee",
            "icons": [icon],
        },
        ensure_ascii=False,
    )


def file_unit(kind: Kind) -> str:
    """The unit as the case file writes it behind a number of this kind."""
    if kind.name == "long duration":
        return "min"
    return kind.example.split(maxsplit=1)[1] if " " in kind.example else ""


def _family(id_: str, knowledge: Knowledge) -> dict[str, Any]:
    family = knowledge.families[id_]
    return {
        "name": prose.plain(family.name),
        "complaint": prose.plain(family.complaint),
        "read": [r.id for r in readings_first(id_, knowledge)],
        "seen": [f.id for f in findings_first(id_, knowledge)],
        "causes": [c.id for c in causes_of(id_, knowledge)],
        "tests": [[prose.plain(t.name), prose.plain(t.how), t.minutes] for t in first_tests(id_, knowledge)],
    }


def _reading(reading: Reading) -> dict[str, Any]:
    kind = qty.KINDS[reading.kind]
    bounds = bounds_of(kind, within_of(reading.id, "heating"))
    low, high = (
        round(qty.us(qty.from_si(end, kind), kind), 6) if math.isfinite(end) else None
        for end in (bounds.low, bounds.high)
    )
    return {
        "name": prose.plain(reading.name),
        "where": prose.plain(reading.where),
        "unit": file_unit(kind),
        "shown": kind.us_text,
        "low": low,
        "high": high,
        "sign": -1 if reading.suction else 1 if low is None or low < 0 else 0,
        "clock": {"duration": 1, "long duration": 60}.get(kind.name, 0),
        "temperature": kind.si == "K" and not kind.difference,
    }


def plate() -> Iterator[dict[str, Any]]:
    """The fields of the plate and the house: where each stands in the case file, its kind, unit and choices."""
    for block, model, key in PLATE:
        yield _field(block, model, key)
        if (block, key) == ("furnace", "static maximum"):
            yield {"at": ["furnace", "counted as external"], "kind": "parts", "choices": _parts()}
    for key, ends in NESTED.items():
        inner = next(f.annotation for f in Furnace.model_fields.values() if f.alias == key)
        model = next(part for part in get_args(inner) if part is not type(None))
        for end in ends:
            yield _field("furnace", model, end) | {"at": ["furnace", key, end]}


def _parts() -> list[str]:
    return list(get_args(get_args(get_args(Furnace.model_fields["counted_as_external"].annotation)[0])[0]))


def _field(block: str, model: type[Block], key: str) -> dict[str, Any]:
    """A field of the sheet from the schema's own: its kind, unit and choices."""
    field = next(f for name, f in model.model_fields.items() if key in (f.alias, name))
    at = {"at": [block, key]}
    reads = next(_marks(field.metadata, field.annotation), None)
    if reads is not None:
        return at | {
            "kind": "range" if isinstance(reads, ReadsRange) else "number",
            "unit": file_unit(reads.kind),
            "shown": reads.kind.us_text,
        }
    if choices := _choices(field.annotation):
        return at | {"kind": "choice", "choices": [[word, CHOICES.get(word, "")] for word in choices]}
    if field.annotation is bool:
        return at | {"kind": "choice", "choices": [["yes", ""], ["no", ""]]}
    return at | {"kind": "whole" if int in (field.annotation, *get_args(field.annotation)) else "text"}


def _marks(metadata: Any, annotation: Any) -> Iterator[Reads | ReadsRange]:
    """The quantity a field reads, found in its own marks or in those of a part of its type."""
    yield from (mark for mark in metadata if isinstance(mark, Reads | ReadsRange))
    for part in get_args(annotation):
        yield from _marks(getattr(part, "__metadata__", ()), part)


def _choices(annotation: Any) -> tuple[str, ...]:
    if get_origin(annotation) is Literal:
        return tuple(word for word in get_args(annotation) if word)
    return next((found for part in get_args(annotation) if (found := _choices(part))), ())


def _physics(knowledge: Knowledge) -> dict[str, float]:
    """Constants of the sums on the device, from the core's own."""
    return {
        "pressure": air.STANDARD_PRESSURE,
        "dryAir": air.R_DRY_AIR,
        "massRatio": air.MASS_RATIO,
        "cpDry": air.CP_DRY_AIR,
        "cpVapor": air.CP_VAPOUR,
        "humidity": air.TYPICAL_RELATIVE_HUMIDITY,
        "nonCondensing": constant(knowledge, "efficiency-non-condensing"),
        "condensing": constant(knowledge, "efficiency-condensing"),
    }
