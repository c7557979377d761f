"""`causebook/library`: the pages across cases, a page for each cause, and all that finds a case again."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Literal

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError
from mkdocs.livereload import LiveReloadServer
from mkdocs.plugins import BasePlugin, event_priority
from mkdocs.structure.files import File, Files
from mkdocs.structure.pages import Page
from mkdocs.utils import get_build_datetime

from causebook.casefile.notes import read_notes
from causebook.commands.line import parser
from causebook.knowledge import Knowledge
from causebook.library import facets, find_index, fulltext, notes_page, offline, reference, seek_index, sheet
from causebook.library.addresses import cause_source
from causebook.library.disk import prune
from causebook.library.pages import GUIDE, case_source, library_pages, with_door
from causebook.library.record import Record, newest_first
from causebook.site.cases.plugin import CasesPlugin
from causebook.site.generated import add_text
from causebook.site.library.config import LibraryConfig
from causebook.site.options import options_of
from causebook.site.problems import log

CASES = "causebook/cases"
LISTED = (
    "cases/index.md",
    "find/index.md",
    "sheet/index.md",
    "notes/index.md",
    "words/index.md",
    GUIDE,
    reference.PAGE,
    "causes/index.md",
    "complaints/index.md",
    "parts/index.md",
    "equipment/index.md",
    "outcomes/index.md",
    "tallies/index.md",
    "study/index.md",
)
"""Generated pages that may stand in the navigation; all others are reached from them."""


class LibraryPlugin(BasePlugin[LibraryConfig]):
    """Adds what leads from case to case."""

    _building = True
    _records: Mapping[str, Record] = {}
    """Source path of a case's page -> its record."""
    _handbook: frozenset[str] = frozenset()
    """Source paths of the pages that are searched beside the cases."""

    def on_startup(self, *, command: Literal["build", "gh-deploy", "serve"], dirty: bool) -> None:
        """While writing (`serve`) no full-text index is made, nor does a device keep what is about to change."""
        self._building = command != "serve"

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
        self._records = {case_source(r.id): r for r in records}
        pages = library_pages(records, cases.knowledge)
        causes = {cause_source(cause) for cause in cases.knowledge.causes.values()}
        by_hand = {f.src_uri: f.content_string for f in files.documentation_pages() if f.generated_by is None}
        self._handbook = frozenset(by_hand) | causes
        texts = pages | {
            facets.SOURCE: facets.facet_script(records, cases.knowledge),
            find_index.SOURCE: find_index.find_script(
                records, cases.knowledge, lambda source: self._address(source, config)
            ),
            sheet.DATA: sheet.sheet_script(cases.knowledge),
            sheet.MANIFEST: sheet.manifest(config.site_name),
            seek_index.SOURCE: seek_index.seek_script(
                seek_index.seek_index(records, cases.knowledge, by_hand, lambda source: self._address(source, config))
            ),
        }
        texts |= reference.reference_pages(parser(), self._options(config))
        texts |= self._note_pages(config, cases.knowledge)
        written = [
            add_text(files, config, cases.pages, source, text, listed=source in LISTED)
            for source, text in texts.items()
        ]
        for folder in {source.partition("/")[0] for source in texts} - {"cases"}:
            prune(cases.pages / folder, written)

    def on_page_markdown(self, markdown: str, *, page: Page, config: MkDocsConfig, files: Files) -> str:
        """Put the entrance where a page written by hand wants it."""
        if not self.config.enabled or not self._cases(config).config.enabled:
            return markdown
        return with_door(markdown, page.file.src_uri, self._records.values(), self._cases(config).knowledge)

    def on_page_content(self, html: str, *, page: Page, config: MkDocsConfig, files: Files) -> str:
        """Mark what the full-text search reads: cases, causes and pages written by hand."""
        source = page.file.src_uri
        if source in self._records:
            return fulltext.searched_case(html, self._records[source], self._cases(config).knowledge)
        return fulltext.searched(html) if source in self._handbook else html

    @event_priority(-100)  # when every other plugin has written its files
    def on_post_build(self, *, config: MkDocsConfig) -> None:
        """Make the full-text index, and the worker that keeps the site for where there is no signal."""
        if not self.config.enabled or not self._building:
            return
        site, cases = Path(config.site_dir), self._cases(config)
        if self.config.full_text:
            try:
                fulltext.build_index(site, Path(cases.config.generated))
            except fulltext.NoIndex as reason:
                log.warning(f"no full-text index, pages are found by what they are: {reason}")
        if self.config.offline:
            limit = self.config.offline_limit * 1_000_000
            newest = [r.id for r in newest_first(self._records.values())]
            kept = offline.write_worker(site, newest, limit, get_build_datetime())
            if kept < len(newest):
                log.info(f"a device without signal keeps the newest {kept} of {len(newest)} cases (offline_limit)")

    def _options(self, config: MkDocsConfig) -> Mapping[str, Mapping[str, tuple[str, str]]]:
        """The options of those of our plugins that this site uses."""
        ours = {name: plugin for name, plugin in config.plugins.items() if name.startswith("causebook/")}
        return {name: options_of(plugin.config_class) for name, plugin in ours.items()}

    def _note_pages(self, config: MkDocsConfig, known: Knowledge) -> dict[str, str]:
        """The page of job notes and its table, where there are notes.  What they want is told, never warned of."""
        root = Path(config.config_file_path or ".").absolute().parent
        notes, problems = read_notes(root / self.config.notes, known)
        if problems:
            log.info(f"job notes: {len(problems)} not understood, the first: {problems[0]}")
        return notes_page.pages(notes, known) if notes else {}

    def on_serve(self, server: LiveReloadServer, *, config: MkDocsConfig, builder: object) -> None:
        """Watch the job notes, where there are some."""
        folder = Path(config.config_file_path or ".").absolute().parent / self.config.notes
        if self.config.enabled and folder.is_dir():
            server.watch(str(folder))

    def _address(self, source: str, config: MkDocsConfig) -> str:
        """Where a page stands on the site."""
        return File(source, config.docs_dir, config.site_dir, config.use_directory_urls).url

    def _cases(self, config: MkDocsConfig) -> CasesPlugin:
        plugin = config.plugins[CASES]
        assert isinstance(plugin, CasesPlugin)
        return plugin
