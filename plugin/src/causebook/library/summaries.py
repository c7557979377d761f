"""What the search that runs without a server reads beside the facet table: the handbook, and what customers said."""

from __future__ import annotations

import re
from collections.abc import Iterable

from causebook.library.facets import script
from causebook.library.record import Record, newest_first
from causebook.writeup import prose

SOURCE = "find/summaries.js"
MOST = 4000
"""Characters of a page's text that are kept."""
_FRONT = re.compile(r"\A---\n.*?\n---\n", re.DOTALL)
_FENCE = re.compile(r"^(```|~~~).*?^\1\s*$", re.DOTALL | re.MULTILINE)
_TITLE = re.compile(r"^# (.+)$", re.MULTILINE)
_LINK = re.compile(r"!?\[([^\]]*)\]\([^)]*\)")
_BLOCK = re.compile(r"<[^>]*>|\{[^}]*\}|^[#>\s|:-]+|\||^!!! \w+", re.MULTILINE)
_INLINE = re.compile(r"[*`]")


def summaries_script(pages: Iterable[tuple[str, str]], records: Iterable[Record]) -> str:
    """The script that sets `causebookSummaries`.

    `handbook` holds address, title and words of each page, made from pairs of its address and its Markdown; `said`
    the customers' words, in the order of the facet table.
    """
    return script(
        "causebookSummaries",
        {
            "handbook": [[address, *summary(source)] for address, source in pages],
            "said": [prose.plain(r.words) for r in newest_first(records)],
        },
    )


def summary(source: str) -> tuple[str, str]:
    """Title and plain words of a page written in Markdown, without its code and markup."""
    source = _FENCE.sub("", _FRONT.sub("", source))
    title = _TITLE.search(source)
    words = source.replace(title[0], "", 1) if title else source
    return _plain(title[1] if title else ""), _plain(words)[:MOST]


def _plain(text: str) -> str:
    return " ".join(_INLINE.sub("", _BLOCK.sub(" ", _LINK.sub(r"\1", text))).split())
