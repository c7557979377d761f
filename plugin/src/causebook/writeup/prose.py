"""Case text is Markdown by many hands; here it becomes HTML that can do no harm, and plain text.

Nothing an author writes is taken for HTML: tags come out as the characters they are.  Links keep only `http`,
`https`, `mailto` and paths of the site; pictures become their description (photos have their own door); headings
become bold lines, since the order of headings is the page's.
"""

from __future__ import annotations

import functools
import html
import re
import xml.etree.ElementTree as etree

import nh3
from markdown import Markdown
from markdown.extensions import Extension
from markdown.treeprocessors import Treeprocessor
from markupsafe import Markup

_BLOCKS = {"p", "br", "ul", "ol", "li", "blockquote", "pre"}
_INLINE = {"strong", "em", "code", "a"}
_SCHEMES = {"http", "https", "mailto"}
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_MARKED = re.compile(r"[\\`*_\[\]<>&!#~]|^\s*(?:[-+]|\d+[.)])\s|\n|https?:", re.MULTILINE)
_SITE_PATH = re.compile(r"(?:\.{0,2}/)?[\w.#?-][^:\\\s]*$|#[\w-]+$")
_SCHEME = re.compile(r"(?:https?://|mailto:)\S", re.IGNORECASE)
_NUMBER_UNIT = re.compile(r"(?<=\d) (?=(?:%|°[FC]|in[.²]|cfm|fpm|ppm|Btu|kW|L/s|m/s|[kµ]?Pa|[cm]m²?|min|[KAVs]\b))")
_OUTER_PARAGRAPH = re.compile(r"</p>\s*<p>")


def _harmless(link: str) -> bool:
    return bool(_SCHEME.match(link) or (_SITE_PATH.match(link) and not link.startswith("//")))


class _Tame(Treeprocessor):
    """Links with any other target, pictures and headings become text, in place."""

    def run(self, root: etree.Element) -> None:
        for element in root.iter():
            if element.tag == "a" and not _harmless(element.get("href", "")):
                element.tag = "span"
            elif element.tag == "img":
                element.tag, element.text = "span", element.get("alt", "")
            elif element.tag in {"h1", "h2", "h3", "h4", "h5", "h6"}:
                bold = etree.Element("strong")
                bold.text, element.text = element.text, None
                bold.extend(element)
                for child in list(element):
                    element.remove(child)
                element.append(bold)
                element.tag = "p"


class _Tamed(Extension):
    def extendMarkdown(self, md: Markdown) -> None:
        md.preprocessors.deregister("html_block")
        md.inlinePatterns.deregister("html")
        md.treeprocessors.register(_Tame(md), "tame", 5)


@functools.cache
def _converter() -> Markdown:
    return Markdown(extensions=["sane_lists", _Tamed()])


def _convert(text: str) -> str:
    converter = _converter()
    converter.reset()
    return converter.convert(text)


def _clean(unsafe: str, tags: set[str]) -> str:
    return nh3.clean(
        unsafe, tags=tags, attributes={"a": {"href"}}, url_schemes=_SCHEMES, link_rel="noopener noreferrer"
    )


@functools.lru_cache(maxsize=4096)
def block(text: str) -> Markup:
    """Case text as paragraphs, lists and quotes."""
    text = _CONTROL.sub("", text).strip()
    if not text:
        return Markup("")
    if not _MARKED.search(text):
        return Markup("<p>" + html.escape(text, quote=False) + "</p>")
    return Markup(_clean(_convert(text), _BLOCKS | _INLINE))


@functools.lru_cache(maxsize=4096)
def inline(text: str) -> Markup:
    """Case text as one line: emphasis, code and links only."""
    text = _CONTROL.sub("", text).strip()
    if not _MARKED.search(text):
        return Markup(html.escape(text, quote=False))
    paragraphs = _OUTER_PARAGRAPH.sub(" ", _convert(text))
    return Markup(_clean(paragraphs, _INLINE).strip())


@functools.lru_cache(maxsize=4096)
def plain(text: str) -> str:
    """Case text without any marks, on one line: for titles, descriptions and terminals."""
    return " ".join(html.unescape(nh3.clean(str(block(text)), tags=set())).split())


def in_markdown(text: str) -> str:
    """Plain text as it must stand in a Markdown line, so that no Markdown extension reads anything into it."""
    return re.sub(
        r"[^\w\s,.;'?/%°–—’“”·×±→½¼¾²³µ-]|_|--", lambda found: "".join(f"&#{ord(c)};" for c in found[0]), plain(text)
    )


def in_html_block(rendered: str) -> str:
    """HTML as it must stand in a Markdown document.

    Some Markdown extensions read the source before HTML blocks are set aside (fences, snippets, macros); the
    characters they look for are written as entities, which mean the same in HTML.
    """
    return re.sub(r"[`~{}$]", lambda found: f"&#{ord(found[0])};", rendered)


def glued(rendered: str) -> str:
    """The same with every number held on one line with its unit."""
    return _NUMBER_UNIT.sub("\u00a0", rendered).replace("in. w.c.", "in.\u00a0w.c.")
