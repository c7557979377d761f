"""Options of the plugin `causebook/library`."""

from __future__ import annotations

from mkdocs.config.base import Config
from mkdocs.config.config_options import Type


class LibraryConfig(Config):
    """What may stand under `causebook/library` in mkdocs.yml."""

    enabled = Type(bool, default=True)
