"""What all data of the knowledge has in common."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Entry(BaseModel):
    """Common to all data: unknown keys are errors, entries never change once loaded."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, use_attribute_docstrings=True)


class Named(Entry):
    id: str
    name: str
    """Name as pages show it."""
    aliases: tuple[str, ...] = ()
    """Other names that are understood."""
