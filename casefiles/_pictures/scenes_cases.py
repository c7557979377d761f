"""Scenes of the other cases."""

from __future__ import annotations

from collections.abc import Callable

from ink import Sheet

SCENES: dict[str, tuple[str, Callable[[Sheet], None]]] = {}
