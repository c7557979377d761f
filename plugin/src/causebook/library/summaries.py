"""What a page written in Markdown says, in plain words: its title, its headings, its text."""

from __future__ import annotations

import re

MOST = 4000
"""Characters of a page's text that are kept."""
_FRONT = re.compile(r"\A---\n.*?\n---\n", re.DOTALL)
_FENCE = re.compile(r"^(```|~~~).*?^\1\s*$", re.DOTALL | re.MULTILINE)
_TITLE = re.compile(r"^# (.+)$", re.MULTILINE)
_HEADING = re.compile(r"^##+ (.+)$", re.MULTILINE)
_LINK = re.compile(r"!?\[([^\]]*)\]\([^)]*\)")
_BLOCK = re.compile(r"<[^>]*>|\{[^}]*\}|^[#>\s|:-]+|\||^!!! \w+", re.MULTILINE)
_INLINE = re.compile(r"[*`]")


def headings(source: str) -> list[str]:
    """The headings below the title, as plain words."""
    return [_plain(heading) for heading in _HEADING.findall(_FENCE.sub("", source))]


def summary(source: str) -> tuple[str, str]:
    """Title and plain words of a page written in Markdown, without its code and markup."""
    source = _FENCE.sub("", _FRONT.sub("", source))
    title = _TITLE.search(source)
    words = source.replace(title[0], "", 1) if title else source
    return _plain(title[1] if title else ""), _plain(words)[:MOST]


def _plain(text: str) -> str:
    return " ".join(_INLINE.sub("", _BLOCK.sub(" ", _LINK.sub(r"\1", text))).split())
