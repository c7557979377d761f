"""A page as a document, and the templates its blocks of HTML come from."""

from __future__ import annotations

import functools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import yaml
from jinja2 import Environment, PackageLoader, StrictUndefined

from causebook import quantity as qty
from causebook.writeup import prose, words


@dataclass(frozen=True, slots=True)
class Page:
    """A page of the site."""

    title: str
    meta: Mapping[str, Any]
    markdown: str

    @property
    def text(self) -> str:
        """The whole document: YAML front matter, then Markdown."""
        front = yaml.safe_dump({"title": self.title, **self.meta}, allow_unicode=True, sort_keys=False)
        return f"---\n{front}---\n\n{self.markdown}"


@functools.cache
def _templates() -> Environment:
    environment = Environment(
        loader=PackageLoader("causebook.writeup"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=StrictUndefined,
        keep_trailing_newline=False,
    )
    environment.globals |= {"words": words, "prose": prose, "qty": qty}
    environment.globals["parts"] = environment.get_template("parts.html").module
    return environment


def render(template: str, **values: Any) -> str:
    """One block of HTML, without blank lines and fit to stand in Markdown."""
    rendered = _templates().get_template(f"{template}.html").render(**values)
    return prose.in_html_block(prose.glued("\n".join(line for line in rendered.splitlines() if line.strip())))


def sections(parts: Iterable[tuple[str, str]]) -> str:
    """Sections under their headings; one without a body does not appear."""
    return "\n\n".join(f"## {heading}\n\n{body}" for heading, body in parts if body)
