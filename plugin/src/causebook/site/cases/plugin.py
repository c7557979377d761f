"""`causebook/cases`: works up the case files and adds their pages, pictures and charts to the site."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError
from mkdocs.livereload import LiveReloadServer
from mkdocs.plugins import BasePlugin
from mkdocs.structure.files import Files
from mkdocs.structure.pages import Page

from causebook import knowledge
from causebook.casefile.read import CASE_FILE
from causebook.knowledge import Knowledge
from causebook.knowledge.loader import KnowledgeError
from causebook.library.disk import prune
from causebook.library.like import like_cases, with_section
from causebook.library.likeness import neighbours
from causebook.library.parcels import TRAY, waiting
from causebook.library.shelf import Entry, Shelf
from causebook.site.cases.config import CasesConfig
from causebook.site.cases.put import Put
from causebook.site.generated import add_file
from causebook.site.problems import folder_problems, log, report
from causebook.site.rendered import RenderedPage, settings_digest
from causebook.site.shell import dress

MAIN = "index.md"
"""Source name of the page of a case; beside it stands the customer's."""


class CasesPlugin(BasePlugin[CasesConfig]):
    """Puts one page a case, and its customer's page, on the site.

    Other plugins find the cases in `entries` and `knowledge` after the event `files`.
    """

    entries: tuple[Entry, ...] = ()
    knowledge: Knowledge
    _shelf: Shelf
    _by_id: Mapping[str, Entry] = {}

    @property
    def pages(self) -> Path:
        """Folder of the generated pages, laid out as source paths."""
        return Path(self.config.generated) / "pages"

    @property
    def _rendered(self) -> Path:
        return Path(self.config.generated) / "rendered"

    def on_config(self, config: MkDocsConfig) -> None:
        """Lay the look over the theme; keep the generated folder out of `docs_dir`, where it would be built twice."""
        if not self.config.enabled:
            return
        if Path(self.config.generated).resolve().is_relative_to(Path(config.docs_dir).resolve()):
            raise PluginError("causebook/cases: `generated` must not lie inside docs_dir")
        dress(config)
        report(folder_problems(config), Path(config.config_file_path or ".").absolute().parent)

    def on_files(self, files: Files, *, config: MkDocsConfig) -> None:
        """Work up the cases, report every problem, and add the pages of the sound ones."""
        if not self.config.enabled:
            return
        root = Path(config.config_file_path or ".").absolute().parent
        casefiles = Path(self.config.casefiles)
        self.knowledge = self._load_knowledge(root)
        self._shelf = Shelf.within(Path(self.config.generated), casefiles, self.knowledge)
        shelved = self._shelf.take(self.config.only)
        report(shelved.problems, root)
        if tray := waiting(casefiles):
            log.info(f"{len(tray)} in {TRAY} to be taken in: causebook take")
        log.info(f"{len(shelved.entries)} cases, {len(shelved.renewed)} of them worked up anew")
        self.entries = shelved.entries
        self._by_id = {entry.record.id: entry for entry in self.entries}
        near = neighbours([e.record for e in self.entries], self.knowledge, self.config.like)
        put = Put(Path(self.config.generated) / "put.json", self.pages)
        settings, written = settings_digest(config), []
        for entry in self.entries:
            id_ = entry.record.id
            section = like_cases(id_, near[id_], self.knowledge)
            if put.differs(id_, f"{entry.key} {section}"):
                texts = self._shelf.written(entry).pages
                put.put(id_, f"{entry.key} {section}", texts | {MAIN: with_section(texts[MAIN], section)})
            for path in put.paths(id_):
                source = path.relative_to(self.pages).as_posix()
                file = add_file(files, config, path, source, edit=casefiles / id_ / CASE_FILE)
                RenderedPage(file, config, self._rendered / f"{source}.json", settings)
                written += [path, self._rendered / f"{source}.json"]
            for name in entry.pictures:
                path = self.pages / "cases" / id_ / name
                add_file(files, config, path, f"cases/{id_}/{name}")
                written.append(path)
        put.keep(self._by_id)
        for case in (*self.pages.glob("cases/*/"), *self._rendered.glob("cases/*/")):
            prune(case, written)

    def on_post_page(self, output: str, *, page: Page, config: MkDocsConfig) -> str:
        """Put a case's charts in the places its page keeps for them."""
        top, _, rest = page.file.src_uri.partition("/")
        id_, _, name = rest.partition("/")
        if top == "cases" and name == MAIN and id_ in self._by_id:
            for place, chart in self._shelf.written(self._by_id[id_]).charts.items():
                output = output.replace(place, chart)
        return output

    def on_serve(self, server: LiveReloadServer, *, config: MkDocsConfig, builder: object) -> None:
        """Watch the case files, unless told not to."""
        if self.config.enabled and self.config.watch:
            server.watch(self.config.casefiles)
            if self.config.knowledge:
                server.watch(self.config.knowledge)

    def _load_knowledge(self, root: Path) -> Knowledge:
        try:
            return knowledge.load(Path(self.config.knowledge) if self.config.knowledge else None)
        except KnowledgeError as wrong:
            report(wrong.problems, root)
            raise PluginError(f"causebook/cases: {self.config.knowledge} cannot be used until that is mended") from None
