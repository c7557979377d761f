"""What would tell a stranger whose house it was: phone numbers, e-mail and street addresses in what gets published."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from pydantic import BaseModel

_SHOWN = 60
_PATTERNS: Mapping[str, re.Pattern[str]] = {
    "a phone number": re.compile(
        r"(?<![\d.,-])(?:\+?1[-. ]?)?(?:\(\d{3}\) ?|\d{3}[-. ])\d{3}[-. ]\d{4}(?![\d-])"
        r"|(?i:\b(?:phone|call|cell|tel|mobile|number)\b\.?:? {0,2})\d{3}[-. ]\d{4}(?![\d-])"
    ),
    "an e-mail address": re.compile(r"(?<![\w.+-])[\w.+-]{1,64}@[\w-]{1,63}(?:\.[\w-]{2,63}){1,4}"),
    "a street address": re.compile(
        r"(?<![\w.,])\d{1,5} (?:[NSEW]\.? )?(?:[A-Z][\w'’]{1,30} ){1,3}"
        r"(?:Street|St|Avenue|Ave|Road|Rd|Drive|Dr|Lane|Ln|Court|Ct|Boulevard|Blvd|Way|Place|Pl|Circle|Cir|Terrace|Ter|"
        r"Highway|Hwy|Parkway|Pkwy)\b"
    ),
}
"""What is looked for -> how it is written in the US; common sense, no source."""


def identifying(text: str) -> Iterator[tuple[str, str]]:
    """What in a text tells whose house it was: what it is, and its words."""
    for what, pattern in _PATTERNS.items():
        if found := pattern.search(text):
            yield what, found.group().strip()[:_SHOWN]


def in_file_name(name: str) -> Iterator[tuple[str, str]]:
    """The same of a file's or a folder's name, in which words are joined by hyphens and underscores."""
    said = list(identifying(name))
    spoken = re.sub(r"[-_]+", " ", name.rpartition(".")[0] or name).title()
    yield from said or identifying(spoken)


def published_texts(data: Any, place: str = "") -> Iterator[tuple[str, str | Path]]:
    """Every text of a case file that gets published, and every name of a file, by its dotted path."""
    if isinstance(data, BaseModel):
        named = type(data).model_fields.items()
        inner = [(field.alias or name, getattr(data, name)) for name, field in named]
    elif isinstance(data, Mapping):
        inner = [(str(key), value) for key, value in data.items()]
        yield from ((f"{place}.{key}", key) for key, _ in inner)
    elif isinstance(data, (list, tuple)):
        inner = [(str(number), value) for number, value in enumerate(data, 1)]
    else:
        if isinstance(data, (str, Path)):
            yield place, data
        return
    for key, value in inner:
        yield from published_texts(value, f"{place}.{key}" if place else key)
