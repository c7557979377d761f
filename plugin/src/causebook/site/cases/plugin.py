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
from causebook.library.like import with_like_cases
from causebook.library.likeness import neighbours
from causebook.library.shelf import Entry, Shelf
from causebook.site.cases.config import CasesConfig
from causebook.site.generated import add_file, add_text
from causebook.site.problems import log, report
from causebook.site.shell import dress


class CasesPlugin(BasePlugin[CasesConfig]):
    """Puts one page a case, and its customer's page, on the site.

    Other plugins find the cases in `entries` and `knowledge` after the event `files`.
    """

    entries: tuple[Entry, ...] = ()
    knowledge: Knowledge
    _charts: Mapping[str, Mapping[str, str]] = {}

    @property
    def pages(self) -> Path:
        """Folder of the generated pages, laid out as source paths."""
        return Path(self.config.generated) / "pages"

    def on_config(self, config: MkDocsConfig) -> None:
        """Lay the look over the theme; keep the generated folder out of `docs_dir`, where it would be built twice."""
        if not self.config.enabled:
            return
        if Path(self.config.generated).resolve().is_relative_to(Path(config.docs_dir).resolve()):
            raise PluginError("causebook/cases: `generated` must not lie inside docs_dir")
        dress(config)

    def on_files(self, files: Files, *, config: MkDocsConfig) -> None:
        """Work up the cases, report every problem, and add the pages of the sound ones."""
        if not self.config.enabled:
            return
        root = Path(config.config_file_path or ".").absolute().parent
        casefiles = Path(self.config.casefiles)
        self.knowledge = self._load_knowledge(root)
        shelf = Shelf(casefiles, Path(self.config.generated) / "kept", self.pages / "cases", self.knowledge)
        shelved = shelf.take(self.config.only)
        report(shelved.problems, root)
        log.info(f"{len(shelved.entries)} cases, {len(shelved.renewed)} of them worked up anew")
        self.entries = shelved.entries
        self._charts = {f"cases/{e.record.id}/": e.charts for e in self.entries}
        near = neighbours([e.record for e in self.entries], self.knowledge, self.config.like)
        written = []
        for entry in self.entries:
            id_ = entry.record.id
            for name, content in entry.pages.items():
                if name == "index.md":
                    content = with_like_cases(content, id_, near[id_], self.knowledge)
                written.append(add_text(files, config, self.pages, f"cases/{id_}/{name}", content,
                                        edit=casefiles / id_ / CASE_FILE, renew=id_ in shelved.renewed))
            for name in entry.pictures:
                source = f"cases/{id_}/{name}"
                written.append(add_file(files, config, self.pages / source, source))
        for case in self.pages.glob("cases/*/"):
            prune(case, written)

    def on_post_page(self, output: str, *, page: Page, config: MkDocsConfig) -> str:
        """Put a case's charts in the places its page keeps for them."""
        for placeholder, chart in self._charts.get(page.file.src_uri.rpartition("/")[0] + "/", {}).items():
            output = output.replace(placeholder, chart)
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
