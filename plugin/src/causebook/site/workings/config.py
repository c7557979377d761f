"""Options of the plugin `causebook/workings`."""

from __future__ import annotations

from mkdocs.config.base import Config
from mkdocs.config.config_options import Type


class WorkingsConfig(Config):
    """What may stand under `causebook/workings` in mkdocs.yml."""

    enabled = Type(bool, default=True)
    """Whether the plugin does anything."""
