"""`causebook/workings`: worked examples computed while the site is built, in any Markdown page."""

from __future__ import annotations

from pathlib import Path
from typing import cast

from jinja2 import Environment
from markdown import Extension
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.plugins import BasePlugin, event_priority
from mkdocs.structure.files import Files
from mkdocs.structure.pages import Page

from causebook.site import shell
from causebook.site.problems import report
from causebook.site.workings.config import WorkingsConfig
from causebook.site.workings.extension import WorkingsExtension

STYLE = "assets/workings.css"


class WorkingsPlugin(BasePlugin[WorkingsConfig]):
    """Hands the extension to MkDocs, tells it which page it is on, and reports what is wrong with the blocks."""

    _extension: WorkingsExtension

    def on_config(self, config: MkDocsConfig) -> None:
        """Add the extension and its style."""
        if not self.config.enabled:
            return
        shell.dress(config)
        self._extension = WorkingsExtension()
        # MkDocs declares a list of names and hands it to Python-Markdown as it is, which takes extensions as well.
        cast("list[str | Extension]", config.markdown_extensions).append(self._extension)
        config.extra_css.insert(config.extra_css.index(shell.STYLES[-1]) + 1, STYLE)  # a site's own come after

    @event_priority(-100)  # the text as it will be turned into HTML
    def on_page_markdown(self, markdown: str, *, page: Page, config: MkDocsConfig, files: Files) -> None:
        """Note the file of the page, and how many lines (of its metadata) stand before the text."""
        if not self.config.enabled or page.file.abs_src_path is None:
            return
        whole = page.file.content_string
        above = whole[: -len(markdown)].count("\n") if markdown and whole.endswith(markdown) else 0
        self._extension.path, self._extension.above = Path(page.file.abs_src_path), above

    def on_env(self, env: Environment, *, config: MkDocsConfig, files: Files) -> None:
        """Report every problem of all pages; note the time of the build."""
        if self.config.enabled:
            shell.stamp(config)
            report(sorted(self._extension.problems), Path(config.config_file_path or ".").absolute().parent)
