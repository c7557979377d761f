"""Job notes: what a company's old tickets say of a call, in a date, a few words and a part.

A note proves nothing.  It answers "have we seen this model do that?" and may become a case; it enters no tally of
roots, no likeness, no customer's page and no order of study.

A folder of notes holds `*.csv` (a header of the names below, commas) and `*.yml` (`notes:`, a list of the same).
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from causebook.casefile.desk import shown_path
from causebook.casefile.marked_yaml import parse
from causebook.knowledge.model import Knowledge, slug
from causebook.problems import Problem, Severity, did_you_mean

MEANS = {
    "id": "Short name of the note, each once; without one it is called after the job, or after the file and line",
    "date": "Day of the call, as 2026-01-30",
    "complaint": "What the customer complained of; matched with the complaints by the words of the trade",
    "words": "What was found, in the technician's words",
    "done": "What was done",
    "parts": "Parts put in; matched with the parts by the words of the trade",
    "make": "Manufacturer",
    "model": "Model",
    "job": "Number of the job in the company's books",
    "technician": "Who was there",
}
"""What a note may say, in the order of its columns, and what each of them means."""
FIELDS = tuple(MEANS)
LARGEST_FILE = 50_000_000
MOST_NOTES = 100_000
_PHONE = re.compile(r"(?<!\d)(?:\+?1[-. ]?)?\(?\d{3}\)?[-. ]\d{3}[-. ]?\d{4}(?!\d)|(?<!\d)\d{3}[-. ]\d{4}(?!\d)")
_MAIL = re.compile(r"[\w.+-]+@[\w-]+\.[\w.-]+")


@dataclass(frozen=True, slots=True)
class Note:
    """One job note; `complaint` is as written, `family` and `part_ids` what the words were understood to mean."""

    id: str
    date: dt.date | None
    complaint: str = ""
    words: str = ""
    done: str = ""
    parts: str = ""
    make: str = ""
    model: str = ""
    job: str = ""
    technician: str = ""
    family: str = ""
    part_ids: tuple[str, ...] = ()
    line: int = 0


class Matcher:
    """Puts the words of notes into families and parts, by the knowledge's names, aliases and phrases."""

    def __init__(self, knowledge: Knowledge, own: Mapping[str, str] | None = None) -> None:
        """`own`: further phrases, from a company's map; they go first."""
        families = {
            words: id_ for id_, f in knowledge.families.items() for words in (id_.replace("-", " "), f.name, *f.aliases)
        }
        parts = {words: id_ for id_, name in knowledge.components.items() for words in (id_.replace("-", " "), name)}
        components = {slug(id_): id_ for id_ in knowledge.components}
        phrases = {**knowledge.phrases, **(own or {})}
        self._families = _patterns(
            families | {p: t for p, t in phrases.items() if knowledge.resolve(t) in knowledge.families}
        )
        self._parts = _patterns(parts | {p: components[slug(t)] for p, t in phrases.items() if slug(t) in components})

    def family(self, *texts: str) -> str:
        """The family that the first text that says one means; empty where none does."""
        for text in texts:
            if found := next(_found(text, self._families), ""):
                return found
        return ""

    def parts(self, *texts: str) -> tuple[str, ...]:
        """The parts that texts name, each once."""
        return tuple(dict.fromkeys(part for text in texts for part in _found(text, self._parts)))


def _patterns(phrases: Mapping[str, str]) -> tuple[re.Pattern[str], dict[str, str]]:
    plain = {_plain(phrase): meant for phrase, meant in phrases.items()}
    longest = sorted(filter(None, plain), key=lambda phrase: (-len(phrase), phrase))
    return re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, longest))})(?!\w)"), plain


def _found(text: str, known: tuple[re.Pattern[str], dict[str, str]]) -> Iterator[str]:
    pattern, meant = known
    yield from (meant[found.group()] for found in pattern.finditer(_plain(text)))


def _plain(text: str) -> str:
    return " ".join(re.sub(r"[^\w']+", " ", text.lower().replace("’", "'")).split())


def read_notes(folder: Path, knowledge: Knowledge) -> tuple[list[Note], list[Problem]]:
    """Every note of a folder, newest first, and what was not understood (never an error); none without a folder."""
    matcher, notes, problems = Matcher(knowledge), list[Note](), list[Problem]()
    if folder.is_dir():
        for path in sorted(folder.iterdir()):
            if path.suffix.lower() in (".csv", ".yml", ".yaml") and path.name[:1] not in "_.":
                rows = _csv_rows(path, problems) if path.suffix.lower() == ".csv" else _yaml_rows(path, problems)
                notes += [_note(row, line, path, matcher, problems) for line, row in rows]
    return sorted(notes[:MOST_NOTES], key=lambda n: (n.date or dt.date.min, n.id), reverse=True), problems


def decoded(data: bytes) -> str:
    """Text as spreadsheets save it: UTF-8, or the code page of Windows in the US and western Europe."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def unnamed(text: str) -> str:
    """A text without phone numbers and mail addresses, which belong to nobody's page."""
    return _MAIL.sub("…", _PHONE.sub("…", text))


def _csv_rows(path: Path, problems: list[Problem]) -> Iterator[tuple[int, dict[str, str]]]:
    if path.stat().st_size > LARGEST_FILE:
        problems.append(_say(path, 0, "is too large", f"at most {LARGEST_FILE // 1_000_000} MB"))
        return
    reader = csv.reader(io.StringIO(decoded(path.read_bytes()), newline=""))
    header = [slug(name) for name in next(reader, [])]
    for name in (n for n in header if n not in FIELDS):
        problems.append(
            _say(path, 1, f"column {name!r}", "one of " + ", ".join(FIELDS), did_you_mean(name, FIELDS) or _IMPORT)
        )
    for row in reader:
        if any(cell.strip() for cell in row):
            yield reader.line_num, dict(zip(header, (cell.strip() for cell in row), strict=False))


_IMPORT = "bring foreign columns in with `causebook import`"


def _yaml_rows(path: Path, problems: list[Problem]) -> Iterator[tuple[int, dict[str, str]]]:
    root, found = parse(path.read_bytes()[: LARGEST_FILE + 1], shown_path(path), "`notes:` and a list of them")
    problems += found
    held = root.get("notes") if root else None
    for node in held.items() if held else []:
        yield node.line, {slug(name): entry.node.text or "" for name, entry in node.entries().items()}


def _note(row: Mapping[str, str], line: int, path: Path, matcher: Matcher, problems: list[Problem]) -> Note:
    text = {field: unnamed(row.get(field, "")) for field in ("complaint", "words", "done", "parts", "make", "model")}
    date = None
    try:
        date = dt.date.fromisoformat(row.get("date", ""))
    except ValueError:
        problems.append(_say(path, line, f"date {row.get('date', '')!r}", "a day, such as 2024-01-24"))
    return Note(
        id=row.get("id") or (f"job-{row['job']}" if row.get("job") else f"{path.stem}-{line}"),
        date=date,
        job=row.get("job", ""),
        technician=row.get("technician", ""),
        family=matcher.family(text["complaint"], text["words"], text["done"]),
        part_ids=matcher.parts(text["parts"]) or matcher.parts(text["done"]),
        line=line,
        **text,
    )


def _say(path: Path, line: int, found: str, expected: str, hint: str = "") -> Problem:
    return Problem(shown_path(path), line, 0, "", found, expected, hint, Severity.WARNING)
