"""Case pages turned into HTML once: a page whose Markdown did not change is read instead of converted again.

Markdown is the largest part of a full build: a worked case is long.  What is kept is the result of MkDocs' own
conversion, under a digest of the text and of the Markdown settings; whatever cannot be read is converted anew, and a
page that gave a warning is not kept, so that it gives it again.
"""

from __future__ import annotations

import hashlib
import json
import logging
from pathlib import Path
from typing import Any

import markdown
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files
from mkdocs.structure.pages import Page
from mkdocs.structure.toc import AnchorLink, TableOfContents
from mkdocs.utils import CountHandler

from causebook.library.disk import write_if_different


def settings_digest(config: MkDocsConfig) -> str:
    """Digest of what, besides its text, decides how a page comes out."""
    names = [name if isinstance(name, str) else type(name).__qualname__ for name in config.markdown_extensions]
    return hashlib.sha256(
        repr((markdown.__version__, names, config.mdx_configs, config.use_directory_urls)).encode()
    ).hexdigest()


class RenderedPage(Page):
    """A page that is converted once and kept at `kept`."""

    def __init__(self, file: File, config: MkDocsConfig, kept: Path, settings: str) -> None:
        super().__init__(None, file, config)
        self._kept, self._settings = kept, settings

    def render(self, config: MkDocsConfig, files: Files) -> None:
        """Convert the page's Markdown, or take what it became the last time."""
        key = hashlib.sha256(f"{self._settings} {self.file.src_uri}\n{self.markdown}".encode()).hexdigest()
        if self._take(key):
            return
        heard, logger = CountHandler(level=logging.WARNING), logging.getLogger("mkdocs")
        logger.addHandler(heard)
        try:
            super().render(config, files)
        finally:
            logger.removeHandler(heard)
        if not heard.get_counts():
            self._keep(key)

    def _take(self, key: str) -> bool:
        try:
            data = json.loads(self._kept.read_text(encoding="utf-8"))
            if data["key"] != key:
                return False
            content, title, anchors = data["content"], data["title"], set(data["anchors"])
            toc = TableOfContents([_link(entry) for entry in data["toc"]])
        except (OSError, ValueError, KeyError, TypeError):
            return False
        self.content, self._title_from_render, self.toc, self.present_anchor_ids = content, title, toc, anchors
        return True

    def _keep(self, key: str) -> None:
        data = {
            "key": key,
            "content": self.content,
            "title": self._title_from_render,
            "anchors": sorted(self.present_anchor_ids or ()),
            "toc": [_entry(link) for link in self.toc],
        }
        write_if_different(self._kept, json.dumps(data, ensure_ascii=False))


def _entry(link: AnchorLink) -> list[Any]:
    return [link.title, link.id, link.level, [_entry(child) for child in link.children]]


def _link(entry: list[Any]) -> AnchorLink:
    title, id_, level, children = entry
    link = AnchorLink(title, id_, level)
    link.children = [_link(child) for child in children]
    return link
