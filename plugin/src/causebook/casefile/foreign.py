"""Old job notes out of another program's CSV: its columns, dates and words put into ours, and what was not understood.

The map is YAML, all of it optional where the header's own names tell:

    columns: {date: Svc Date, complaint: Problem, words: Notes, done: Resolution, parts: Parts Used, job: WO #}
    dates: month/day/year
    phrases: {NO HEAT: no ignition, cap 7.5: blower motor}
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from causebook.casefile.desk import Desk, shown_path
from causebook.casefile.marked_yaml import load
from causebook.casefile.notes import FIELDS, MOST_NOTES, Matcher, decoded, unnamed
from causebook.knowledge.model import Knowledge, slug
from causebook.problems import Problem, did_you_mean

DELIMITERS = ",;\t|"
DATES: Mapping[str, tuple[str, ...]] = {
    "year-month-day": ("%Y-%m-%d", "%Y/%m/%d", "%Y%m%d"),
    "month/day/year": ("%m/%d/%Y", "%m/%d/%y", "%m-%d-%Y", "%m.%d.%Y"),
    "day.month.year": ("%d.%m.%Y", "%d.%m.%y", "%d/%m/%Y", "%d-%m-%Y"),
    "words": ("%d %b %Y", "%d %B %Y", "%b %d, %Y", "%B %d, %Y", "%b %d %Y"),
}
_GUESSES: Mapping[str, tuple[str, ...]] = {
    "date": ("date", "svc-date", "service-date", "call-date", "completed", "job-date", "day"),
    "complaint": ("complaint", "problem", "reason", "call-reason", "symptom", "issue"),
    "words": ("words", "notes", "description", "comments", "customer-notes", "details"),
    "done": ("done", "resolution", "work-done", "work-performed", "work", "action", "fix", "tech-notes"),
    "parts": ("parts", "parts-used", "part", "materials", "items"),
    "make": ("make", "brand", "manufacturer", "mfg"),
    "model": ("model", "model-number", "model-#", "model-no"),
    "job": ("job", "job-#", "job-number", "wo", "wo-#", "work-order", "invoice", "ticket", "order"),
    "technician": ("technician", "tech", "employee", "serviced-by"),
}
LISTED = 20
"""So many of what was not understood are named in the report."""


@dataclass(slots=True)
class Report:
    """What came of an import."""

    rows: int = 0
    undated: list[str] = field(default_factory=list)
    complaints: Counter[str] = field(default_factory=Counter)
    """Complaints that no phrase understood, and how often each stands there."""
    parts: Counter[str] = field(default_factory=Counter)
    unused: tuple[str, ...] = ()
    columns: Mapping[str, str] = field(default_factory=dict)
    struck: int = 0
    """Notes from which a phone number or an address was taken."""

    def lines(self) -> Iterable[str]:
        """The report for a person."""
        yield f"{self.rows} notes"
        yield "columns: " + ", ".join(f"{ours} from {theirs!r}" for ours, theirs in self.columns.items())
        if self.unused:
            yield "columns left out: " + ", ".join(map(repr, self.unused))
        if self.undated:
            yield f"{len(self.undated)} without a date that is understood, such as {self.undated[0]!r}"
        for what, counted in (("complaints", self.complaints), ("parts", self.parts)):
            if counted:
                some = "; ".join(f"{words!r} ({n})" for words, n in counted.most_common(LISTED))
                yield f"{sum(counted.values())} {what} not understood: {some}"
        if self.struck:
            yield f"{self.struck} notes named a phone number or a mail address, which was left out"


def bring_in(
    data: bytes, name: str, mapping: Path | None, knowledge: Knowledge
) -> tuple[str | None, Report, list[Problem]]:
    """A foreign CSV as the text of one of ours; None with the problems when its columns cannot be told."""
    report, desk = Report(), Desk(Path(name))
    columns, dates, phrases = _map(mapping, knowledge, desk) if mapping else ({}, (), {})
    lines = decoded(data).splitlines(keepends=True)
    if lines and lines[0].lower().startswith("sep="):
        lines = lines[1:]
    text = "".join(lines)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=max(DELIMITERS, key=(lines or [""])[0].count))
    header = [cell.strip() for cell in next(reader, [])]
    found = _columns(header, columns, desk)
    if desk.problems:
        return None, report, desk.problems
    report.columns = {ours: header[at] for ours, at in found.items()}
    report.unused = tuple(name for at, name in enumerate(header) if name and at not in found.values())
    rows = [row for row in reader if any(cell.strip() for cell in row)][:MOST_NOTES]
    forms = dates or _dates_of([row[found["date"]] for row in rows if len(row) > found.get("date", 0)])
    matcher = Matcher(knowledge, phrases)
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(FIELDS)
    for row in rows:
        said = {ours: " ".join(row[at].split()) if at < len(row) else "" for ours, at in found.items()}
        writer.writerow(_row(said, forms, matcher, knowledge, report))
    return out.getvalue(), report, []


def _row(
    said: dict[str, str], forms: Sequence[str], matcher: Matcher, knowledge: Knowledge, report: Report
) -> list[str]:
    report.rows += 1
    date = _date(said.get("date", ""), forms)
    if not date:
        report.undated.append(said.get("date", ""))
    clean = {name: unnamed(text) for name, text in said.items() if name not in ("date", "job", "technician")}
    report.struck += any(clean[name] != said[name] for name in clean)
    family = matcher.family(clean.get("complaint", ""), clean.get("words", ""), clean.get("done", ""))
    if not family and (asked := clean.get("complaint") or clean.get("words")):
        report.complaints[asked[:60]] += 1
    if clean.get("parts") and not matcher.parts(clean["parts"]):
        report.parts[clean["parts"][:60]] += 1
    if family:
        # Its own words stay, the family goes before them, so that a later phrase cannot change what was understood.
        clean["complaint"] = f"{family.replace('-', ' ')}: {clean['complaint']}" if clean.get("complaint") else family
    job = said.get("job", "")
    ours = {"id": f"job-{slug(job)}" if job else f"note-{report.rows}", "date": date}
    values = {**clean, "job": job, "technician": said.get("technician", ""), **ours}
    return [values.get(name, "") for name in FIELDS]


def _map(path: Path, knowledge: Knowledge, desk: Desk) -> tuple[dict[str, str], tuple[str, ...], dict[str, str]]:
    root, problems = load(path, shown_path(path))
    desk.problems += problems
    plain = root.plain() if root else {}
    for name in plain:
        if name not in ("columns", "dates", "phrases"):
            at = root.entries()[name].key if root else None
            if at:
                desk.say(at, name, "unknown key", "columns, dates or phrases")
    dates = str(plain.get("dates", ""))
    forms = DATES.get(dates) or ((dates,) if "%" in dates else ())
    if dates and not forms and root:
        desk.say(root.entries()["dates"].node, "dates", repr(dates), "one of " + ", ".join(DATES))
    columns = plain.get("columns", {})
    phrases = plain.get("phrases", {})
    ours = columns if isinstance(columns, dict) else {}
    for name in ours:
        if name not in FIELDS and root:
            at = root.entries()["columns"].node.entries()[name].key
            desk.say(
                at, f"columns.{name}", "no field of a note", "one of " + ", ".join(FIELDS), did_you_mean(name, FIELDS)
            )
    return ours, forms, phrases if isinstance(phrases, dict) else {}


def _columns(header: Sequence[str], asked: Mapping[str, str], desk: Desk) -> dict[str, int]:
    """Our field -> the column of it: as the map says, else by the header's own names."""
    slugs = [slug(name) for name in header]
    found: dict[str, int] = {}
    for name in FIELDS:
        wanted = (slug(asked[name]),) if name in asked else _GUESSES.get(name, (name,))
        at = next((slugs.index(one) for one in wanted if one in slugs and slugs.index(one) not in found.values()), None)
        if at is not None:
            found[name] = at
        elif name in asked:
            desk.problems.append(
                Problem(
                    desk.path, 1, 0, "", f"there is no column {asked[name]!r}", _one_of(header),
                    did_you_mean(asked[name], header),
                )
            )  # fmt: skip
    if not desk.problems and not ({"date"} <= found.keys() and {"complaint", "words", "done"} & found.keys()):
        desk.problems.append(
            Problem(
                desk.path, 1, 0, "", "its columns are not told by their names: " + ", ".join(map(repr, header)),
                "a date, and what was wrong or done",
                "name them in a map: `columns: {date: …, complaint: …, done: …, parts: …}`",
            )
        )  # fmt: skip
    return found


def _one_of(header: Sequence[str]) -> str:
    return "one of " + ", ".join(map(repr, header))


def _dates_of(texts: Sequence[str]) -> tuple[str, ...]:
    """The way in which most of these dates are written; the US way where two fit alike."""
    ways = ("year-month-day", "month/day/year", "day.month.year", "words")
    return DATES[
        max(ways, key=lambda way: (sum(bool(_date(text, DATES[way])) for text in texts[:500]), -ways.index(way)))
    ]


def _date(text: str, forms: Sequence[str]) -> str:
    day = re.split(r"[T ]\d{1,2}:\d{2}", text.strip())[0].strip()
    for form in forms:
        try:
            return dt.datetime.strptime(day, form).date().isoformat()
        except ValueError:
            continue
    return ""
