"""Facts of a furnace's plate that make causes more or less common, before anything is read."""

from __future__ import annotations

from causebook import quantity as qty
from causebook.belief.cause_sets import Facts
from causebook.casefile.model import Case


def facts_of(case: Case) -> Facts:
    """Facts of the equipment that change priors; what is not known is left out."""
    file = case.file
    facts: dict[str, str | float | bool] = {}
    if file.coil is not None:
        facts["coil"] = "none" if file.coil.none else "fitted"
    if file.blower is not None:
        facts["motor"] = file.blower.motor
    if file.furnace is not None:
        facts |= {
            "condensing": file.furnace.kind == "condensing",
            "zoned": file.furnace.zoned,
            "fuel changed": file.furnace.fuel_changed,
        }
        if file.furnace.stages is not None:
            facts["stages"] = file.furnace.stages
        if file.furnace.made:
            facts["age"] = float(file.visits[0].date.year - file.furnace.made)
        if file.furnace.limit is not None:
            facts["limit replaced"] = file.furnace.limit.replaced
    if file.site.elevation is not None:
        facts["elevation"] = qty.us(file.site.elevation, qty.LENGTH)
    return facts
