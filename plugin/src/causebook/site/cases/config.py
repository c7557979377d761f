"""Options of the plugin `causebook/cases`."""

from __future__ import annotations

from mkdocs.config.base import Config
from mkdocs.config.config_options import Dir, ListOfItems, Optional, Type


class CasesConfig(Config):
    """What may stand under `causebook/cases` in mkdocs.yml."""

    enabled = Type(bool, default=True)
    """Whether the plugin does anything."""
    casefiles = Dir(exists=True, default="casefiles")
    """Folder of the case files, one folder a case."""
    knowledge = Optional(Dir(exists=True))
    """Folder of the company's own knowledge files, laid over what the package knows."""
    generated = Dir(exists=False, default=".causebook")
    """Folder for generated pages and the cache.  It may be deleted at any time; keep it out of version control."""
    only = ListOfItems(Type(str), default=[])
    """Build only the cases whose folder name matches one of these patterns (`limit-*`).  Empty: all."""
    watch = Type(bool, default=True)
    """Whether `mkdocs serve` watches the case files.  Watching reads the folders twice a second."""
    like = Type(int, default=4)
    """How many like cases a case's page names; 0 for none."""
