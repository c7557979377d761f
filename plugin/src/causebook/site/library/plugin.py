"""`causebook/library`: the pages across cases, a page for each cause, and the facet table."""

from __future__ import annotations

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError
from mkdocs.plugins import BasePlugin, event_priority
from mkdocs.structure.files import Files

from causebook.library import facets
from causebook.library.disk import prune
from causebook.library.pages import library_pages
from causebook.site.cases.plugin import CasesPlugin
from causebook.site.generated import add_text
from causebook.site.library.config import LibraryConfig

CASES = "causebook/cases"
LISTED = ("cases/index.md", "causes/index.md", "complaints/index.md", "equipment/index.md", "outcomes/index.md")
"""Generated pages that may stand in the navigation; all others are reached from them."""


class LibraryPlugin(BasePlugin[LibraryConfig]):
    """Adds what leads from case to case."""

    def on_config(self, config: MkDocsConfig) -> None:
        """The library is made of the cases of the other plugin, which must be there."""
        if self.config.enabled and CASES not in config.plugins:
            raise PluginError(f"causebook/library needs {CASES}: name it in mkdocs.yml before this one")

    @event_priority(-50)  # after the cases are there
    def on_files(self, files: Files, *, config: MkDocsConfig) -> None:
        """Add the pages across cases and the facet table."""
        cases = self._cases(config)
        if not self.config.enabled or not cases.config.enabled:
            return
        records = [entry.record for entry in cases.entries]
        texts = library_pages(records, cases.knowledge) | {facets.SOURCE: facets.facet_script(records, cases.knowledge)}
        written = [add_text(files, config, cases.pages, source, text, listed=source in LISTED)
                   for source, text in texts.items()]
        for folder in {source.partition("/")[0] for source in texts} - {"cases"}:
            prune(cases.pages / folder, written)

    def _cases(self, config: MkDocsConfig) -> CasesPlugin:
        plugin = config.plugins[CASES]
        assert isinstance(plugin, CasesPlugin)
        return plugin
