"""A summary of the handbook for the search that runs without a server: address, title and words of each page."""

from __future__ import annotations

import re
from collections.abc import Iterable

from causebook.library.facets import script

SOURCE = "find/handbook.js"
MOST = 4000
"""Characters of a page's text that are kept."""
_FRONT = re.compile(r"\A---\n.*?\n---\n", re.DOTALL)
_FENCE = re.compile(r"^(```|~~~).*?^\1\s*$", re.DOTALL | re.MULTILINE)
_TITLE = re.compile(r"^# (.+)$", re.MULTILINE)
_LINK = re.compile(r"!?\[([^\]]*)\]\([^)]*\)")
_BLOCK = re.compile(r"<[^>]*>|\{[^}]*\}|^[#>\s|:-]+|\||^!!! \w+", re.MULTILINE)
_INLINE = re.compile(r"[*`]")


def handbook_script(pages: Iterable[tuple[str, str]]) -> str:
    """The script that sets `causebookHandbook` from pairs of a page's address and its Markdown."""
    return script("causebookHandbook", [[address, *summary(source)] for address, source in pages])


def summary(source: str) -> tuple[str, str]:
    """Title and plain words of a page written in Markdown, without its code and markup."""
    source = _FENCE.sub("", _FRONT.sub("", source))
    title = _TITLE.search(source)
    words = source.replace(title[0], "", 1) if title else source
    return _plain(title[1] if title else ""), _plain(words)[:MOST]


def _plain(text: str) -> str:
    return " ".join(_INLINE.sub("", _BLOCK.sub(" ", _LINK.sub(r"\1", text))).split())
