"""`causebook/cases`: works up the case files and adds their pages, pictures and charts to the site."""

from __future__ import annotations

import hashlib
import logging
import os
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Literal

from jinja2 import Environment
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import Abort, PluginError
from mkdocs.livereload import LiveReloadServer
from mkdocs.plugins import BasePlugin, event_priority
from mkdocs.structure.files import Files
from mkdocs.structure.pages import Page
from mkdocs.utils import CountHandler

from causebook import knowledge
from causebook.casefile.read import CASE_FILE
from causebook.knowledge import Knowledge
from causebook.knowledge.loader import KnowledgeError
from causebook.library import place
from causebook.library.disk import prune
from causebook.library.like import like_cases, with_section
from causebook.library.likeness import neighbors
from causebook.library.parcels import TRAY, waiting
from causebook.library.shelf import Entry, Shelf
from causebook.problems import Problem, errors
from causebook.site.cases.broken import NEVER_GOOD, with_errors
from causebook.site.cases.config import CasesConfig
from causebook.site.cases.put import Put
from causebook.site.generated import add_file, add_text
from causebook.site.problems import folder_problems, log, report
from causebook.site.rendered import RenderedPage, settings_digest
from causebook.site.shell import dress, stamp
from causebook.writeup.cautions import cautions_page

MAIN, PROOF, WORK = "index.md", "proof.md", "work.md"
"""Source names of the page of a case, of its proof and of its exercise; beside them stands the customer's."""
CAUTIONS = "cases/cautions.md"


class CasesPlugin(BasePlugin[CasesConfig]):
    """Puts one page a case, and its customer's page, on the site.

    Other plugins find the cases in `entries` and `knowledge` after the event `files`.
    """

    entries: tuple[Entry, ...] = ()
    knowledge: Knowledge
    _shelf: Shelf
    _by_id: Mapping[str, Entry] = {}
    _building_whole = True
    _serving = False
    _broken: Mapping[str, tuple[Problem, ...]] = {}
    """While serving: the cases whose last save is not sound, and why."""
    _config: MkDocsConfig | None = None
    _turn: place.Turn | None = None
    _place: Path | None = None
    """Where the site will stand, while it is built beside it."""

    def on_startup(self, *, command: Literal["build", "gh-deploy", "serve"], dirty: bool) -> None:
        """A preview, and a build of changed pages only, go straight into their place; a preview keeps what was good."""
        self._serving = command == "serve"
        self._building_whole = command != "serve" and not dirty

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
        self._take_turn(config)
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
        shelved = self._shelf.take(self.config.only, last_good=self._serving)
        report(shelved.problems, root)
        if tray := waiting(casefiles):
            log.info(f"{len(tray)} in {TRAY} to be taken in: causebook take")
        log.info(f"{len(shelved.entries)} cases, {len(shelved.renewed)} of them worked up anew")
        self.entries = shelved.entries
        self._by_id = {entry.record.id: entry for entry in self.entries}
        near = neighbors([e.record for e in self.entries], self.knowledge, self.config.like)
        put = Put(Path(self.config.generated) / "put.json", self.pages)
        settings, written = settings_digest(config), []
        for entry in self.entries:
            id_ = entry.record.id
            section = like_cases(id_, near[id_], self.knowledge)
            if put.differs(id_, f"{entry.key} {section}"):
                texts = self._shelf.written(entry).pages
                put.put(id_, f"{entry.key} {section}", texts | {MAIN: with_section(texts[MAIN], section, near[id_])})
            for path in put.paths(id_):
                source = path.relative_to(self.pages).as_posix()
                file = add_file(files, config, path, source, edit=casefiles / id_ / CASE_FILE)
                if path.name == WORK:
                    file.dest_uri = _unnamed(id_, config)
                RenderedPage(file, config, self._rendered / f"{source}.json", settings)
                written += [path, self._rendered / f"{source}.json"]
            for name in entry.pictures:
                path = self.pages / "cases" / id_ / name
                add_file(files, config, path, f"cases/{id_}/{name}")
                written.append(path)
        written += self._show_broken(files, config, shelved.broken)
        put.keep(self._by_id)
        add_text(files, config, self.pages, CAUTIONS, cautions_page(self.knowledge).text)
        for case in (*self.pages.glob("cases/*/"), *self._rendered.glob("cases/*/")):
            prune(case, written)

    def _show_broken(self, files: Files, config: MkDocsConfig, broken: Mapping[str, tuple[Problem, ...]]) -> list[Path]:
        """While serving: a page for each case that never was sound; a page that broke or was mended is built anew."""
        if not self._serving:
            return []
        touched, self._broken, written = {*self._broken, *broken}, broken, list[Path]()
        for id_ in touched & self._by_id.keys():
            os.utime(self.pages / "cases" / id_ / MAIN)
        for id_ in broken.keys() - self._by_id.keys():
            written.append(add_text(files, config, self.pages, f"cases/{id_}/{MAIN}", NEVER_GOOD.format(id=id_)))
        return written

    def on_post_page(self, output: str, *, page: Page, config: MkDocsConfig) -> str:
        """Put a case's charts in the places its page keeps for them."""
        top, _, rest = page.file.src_uri.partition("/")
        id_, _, name = rest.partition("/")
        if top == "cases" and name in (MAIN, PROOF) and id_ in self._by_id:
            for place, chart in self._shelf.written(self._by_id[id_]).charts.items():
                output = output.replace(place, chart)
        if top == "cases" and name == MAIN and id_ in self._broken:
            root = Path(config.config_file_path or ".").absolute().parent
            output = with_errors(output, errors(self._broken[id_]), root)
        return output

    def on_env(self, env: Environment, *, config: MkDocsConfig, files: Files) -> None:
        """Note the time of the build."""
        if self.config.enabled:
            stamp(config)

    @event_priority(-1000)  # when every other plugin has written its files
    def on_post_build(self, *, config: MkDocsConfig) -> None:
        """Put the site in its place, unless a strict build is about to fail."""
        if self._turn is None:
            return
        if self._place is not None and not (config.strict and _complained()):
            place.put(Path(config.site_dir), self._place)
            log.info(f"the site stands in {self._place}")
        self._end_turn(config)

    def on_build_error(self, *, error: Exception) -> None:
        """Leave the site that was there; say in one line what the machine refused."""
        if self._config is not None:
            self._end_turn(self._config)
        if isinstance(error, OSError):
            where = f": {error.filename}" if error.filename else ""
            raise Abort(f"causebook: {error.strerror or error}{where}; the site that was there is left as it is")

    def _take_turn(self, config: MkDocsConfig) -> None:
        """Wait for this build's turn, and have the site built beside its place; a preview has a place of its own."""
        generated = Path(self.config.generated)
        self._config, self._place = config, None
        self._turn = place.Turn(generated, lambda: log.info("another build of this library is under way; waiting"))
        beside = place.clear(generated, Path(config.site_dir))
        if self._building_whole:
            self._place, config.site_dir = Path(config.site_dir), str(beside)

    def _end_turn(self, config: MkDocsConfig) -> None:
        if self._place is not None:
            shutil.rmtree(config.site_dir, ignore_errors=True)
            config.site_dir = str(self._place)
        if self._turn is not None:
            self._turn.end()
        self._turn = self._place = None

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


def _complained() -> bool:
    """Has a strict build been warned of anything, so that MkDocs will let it fail?"""
    counting = (h for h in logging.getLogger("mkdocs").handlers if isinstance(h, CountHandler))
    return any(handler.get_counts() for handler in counting)


def _unnamed(id_: str, config: MkDocsConfig) -> str:
    """Where the exercise of a case stands on the site: the name of a case may tell its cause."""
    name = f"calls/{hashlib.sha256(id_.encode()).hexdigest()[:8]}"
    return f"{name}/index.html" if config.use_directory_urls else f"{name}.html"
