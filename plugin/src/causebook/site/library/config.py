"""Options of the plugin `causebook/library`."""

from __future__ import annotations

from mkdocs.config.base import Config
from mkdocs.config.config_options import Type


class LibraryConfig(Config):
    """What may stand under `causebook/library` in mkdocs.yml."""

    enabled = Type(bool, default=True)
    """Whether the plugin does anything."""
    full_text = Type(bool, default=True)
    """Whether `mkdocs build` makes the full-text index.  Without it pages are only found by what they are."""
    offline = Type(bool, default=True)
    """Whether a device that visited the site keeps it for where there is no signal."""
    notes = Type(str, default="notes")
    """Folder of the job notes, beside mkdocs.yml.  Without one there is no page of notes."""
    offline_limit = Type(int, default=60)
    """How much a device may keep [MB].  Beyond it the newest cases are kept, and pages that were opened."""
