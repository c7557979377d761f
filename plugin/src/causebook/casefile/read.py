"""Reading case files: from a folder to `Case`, or to every problem it has, each with its line.

The tree is read first; ids, quantities, states and files are checked on the tree, then the schema on its plain
values, so that one reading reports all there is to report.  A case with an error is not returned.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import re
from dataclasses import dataclass, field
from pathlib import Path

from pydantic import ValidationError

from causebook.casefile import fan_csv, logs
from causebook.casefile.desk import Desk, Spot, short, shown_path
from causebook.casefile.files import LARGEST_PICTURE, LARGEST_TABLE, PICTURES, find_file
from causebook.casefile.ids import resolve, resolve_keys
from causebook.casefile.keys import settle_keys
from causebook.casefile.marked_yaml import LARGEST_FILE, Node, load
from causebook.casefile.model import (
    HOLDS_AIRFLOW,
    MOST_STEPS,
    Case,
    CaseFile,
    CaseStep,
    FanTable,
    Taken,
    TemperatureLog,
)
from causebook.casefile.plate import check_clock, check_plate
from causebook.casefile.readings import open_circuits, take_readings
from causebook.casefile.review import RULES, review
from causebook.casefile.states import settle_states
from causebook.casefile.trade_words import MOTOR
from causebook.casefile.wording import lay_down
from causebook.knowledge.model import Knowledge, slug
from causebook.problems import Problem, did_you_mean, errors

CASE_FILE = "case.yml"
_ID = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_RESERVED = re.compile(r"con|prn|aux|nul|(?:com|lpt)[0-9]")
"""Names that Windows keeps for devices: a site with such a folder cannot be copied to a Windows machine."""
_LONGEST_ID = 80
"""Letters; Windows refuses paths of 260 and more, and a site lies in folders of its own."""
_CAUSE_BLOCKS = ("root", "underlying", "helped by", "damage done", "not it")
_ONE_WORD = ("", "yes", "no", "true", "false")


@dataclass(slots=True)
class _StepParts:
    """What one step holds beside its words."""

    line: int
    readings: tuple[Taken, ...] = ()
    log: TemperatureLog | None = None


@dataclass(slots=True)
class _Parts:
    """What the pass over the tree gathers for the case."""

    steps: list[_StepParts] = field(default_factory=list)
    fan_table: FanTable | None = None
    files: dict[str, Path] = field(default_factory=dict)
    """Every file the case names: name -> path."""
    problems: list[Problem] = field(default_factory=list)
    """Those in the files it names."""


def read_cases(folder: Path, knowledge: Knowledge) -> tuple[list[Case], list[Problem]]:
    """The sound cases of a folder, in the order of their names, and every problem of all of them.

    A case is a folder with a `case.yml`; folders starting with `_` or `.` are passed over.
    """
    if not folder.is_dir():
        return [], [Problem(shown_path(folder), 0, 0, "", "there is no such folder", "a folder of case folders")]
    cases, problems = [], []
    for below in sorted(folder.iterdir()):
        if below.name[:1] not in "_." and (below / CASE_FILE).exists():
            case, found = read_case(below, knowledge)
            problems += found
            if case:
                cases.append(case)
    return cases, problems


def read_case(path: Path, knowledge: Knowledge) -> tuple[Case | None, list[Problem]]:
    """Read one case, given its folder or its file.

    Returns the case, or None when it has an error, and its problems (errors and warnings) in file order.
    """
    folder, name = (path, CASE_FILE) if path.is_dir() else (path.parent, path.name)
    desk = Desk(shown_path(folder / name))
    parts = _Parts()
    case = None
    try:
        case = _read(folder, name, knowledge, parts, desk)
    except OSError as error:
        desk.say(Spot(), "", f"a file cannot be read ({error.strerror})", "readable files")
    problems = sorted(desk.problems + parts.problems)
    return (None if errors(problems) else case), problems


def _read(folder: Path, name: str, knowledge: Knowledge, parts: _Parts, desk: Desk) -> Case | None:
    file = find_file(name, folder, (".yml", ".yaml"), LARGEST_FILE, Spot(), "", desk)
    if file is None:
        return None
    case_id = folder.resolve().name
    if not _ID.fullmatch(case_id):
        desk.say(
            Spot(),
            "",
            f"the folder is called {short(case_id)!r}",
            "lower-case letters, digits and hyphens",
            "the folder's name is the address of the page; leave customers' names out of it",
        )
    elif _RESERVED.fullmatch(case_id) or len(case_id) > _LONGEST_ID:
        desk.say(
            Spot(),
            "",
            f"the folder is called {short(case_id)!r}",
            f"a name of at most {_LONGEST_ID} letters that is none of con, prn, aux, nul, com0 to com9, lpt0 to lpt9",
            "Windows cannot hold the pages of such a case",
        )
    root, problems = load(file, desk.path)
    desk.problems += problems
    if root is None:
        return None
    settle_keys(root, CaseFile, "", desk)
    _check_tree(root, folder, knowledge, parts, desk)
    plain = root.plain()
    try:
        case_file = CaseFile.model_validate(plain)
    except ValidationError as error:
        lay_down(error, root, desk)
        return None
    if errors(desk.problems) or errors(parts.problems):
        return None
    case = Case(
        id=case_id,
        folder=folder,
        path=desk.path,
        file=case_file,
        steps=_steps(case_file, parts),
        fan_table=parts.fan_table,
        marks=dict(root.marks()),
        digest=_digest(case_id, plain, parts),
    )
    desk.problems += review(case, knowledge)
    return case


# ---------------------------------------------------------------- the pass over the tree


def _check_tree(root: Node, folder: Path, knowledge: Knowledge, parts: _Parts, desk: Desk) -> None:
    family = root.get("complaint", "family")
    more = root.get("complaint", "also")
    for node, where in [(family, "complaint.family"), *((item, "complaint.also") for item in _items(more))]:
        if node is not None and node.text is not None:
            node.value = resolve(node.text, "family", knowledge, node, where, desk) or node.value
    _check_answers(root, desk)
    _check_fan_table(root, folder, parts, desk)
    check_plate(root, desk)
    last: dt.date | None = None
    for number, visit in enumerate(_items(root.get("visits")), 1):
        last = _check_date(visit, last, f"visits.{number}.date", desk)
        for count, step in enumerate(_items(visit.get("steps")), 1):
            place = f"visits.{number}.steps.{count}"
            if len(parts.steps) == MOST_STEPS:
                desk.say(step, place, "is one step too many", f"at most {MOST_STEPS} steps in a case")
                return
            parts.steps.append(_check_step(step, place, len(parts.steps) + 1, folder, knowledge, parts, desk))
            check_clock(root, parts.steps[-1].readings, f"{place}.read.meter time", desk)
        concluded = visit.get("concluded")
        for block in _CAUSE_BLOCKS:
            causes = concluded.get(block) if concluded else None
            if causes is not None:
                where = f"visits.{number}.concluded.{block}"
                resolve_keys(causes, "cause", knowledge, where, desk)
                for entry in causes.entries().values():
                    # A blank reason stays in the file, so that the review can ask for it.
                    entry.node.value = "" if entry.node.value is None else entry.node.value


def _items(node: Node | None) -> list[Node]:
    return node.items() if node else []


def _check_date(visit: Node, last: dt.date | None, where: str, desk: Desk) -> dt.date | None:
    """The visit's date, or the last sound one before it; visits stand in the order they were made."""
    node = visit.get("date")
    try:
        date = dt.date.fromisoformat((node.text if node else None) or "")
    except ValueError:  # the schema reports it
        return last
    if node and last and date < last:
        desk.say(node, where, f"{date} lies before the visit above it ({last})", "visits in the order they were made")
    if node and date > dt.date.today() + dt.timedelta(days=1):  # a day, for offices east of the call
        desk.say(node, where, f"{date} lies in the future", "the day of the visit", "check the year")
    return date


def _check_step(
    step: Node, where: str, number: int, folder: Path, knowledge: Knowledge, parts: _Parts, desk: Desk
) -> _StepParts:
    read, seen, states, void = step.get("read"), step.get("seen"), step.get("with"), step.get("void")
    if seen:
        resolve_keys(seen, "finding", knowledge, f"{where}.seen", desk)
    if states:
        settle_states(states, f"{where}.with", knowledge, desk)
    done = _StepParts(step.line)
    if read:
        resolve_keys(read, "reading", knowledge, f"{where}.read", desk)
        open_circuits(step, knowledge)
    reasons = _void(void, read, knowledge, f"{where}.void", desk)
    if read:
        mode = step.get("mode")
        done.readings = take_readings(
            read, number, (mode.text if mode else None) or "", reasons, knowledge, f"{where}.read", desk
        )
    for photo in _items(step.get("photo")):
        file = photo.get("file")
        if file is not None and file.text is not None:
            found = find_file(file.text, folder, PICTURES, LARGEST_PICTURE, file, f"{where}.photo.file", desk)
            if found:
                parts.files[file.text] = found
    log = step.get("log")
    if log:
        done.log = _read_log(log, f"{where}.log", folder, knowledge, parts, desk)
    return done


def _void(node: Node | None, read: Node | None, knowledge: Knowledge, where: str, desk: Desk) -> str | dict[str, str]:
    """Why the readings of a step, or some of them, do not count."""
    if node is None or node.value is None:
        return ""
    if node.text is not None:
        if node.text.lower() in _ONE_WORD:
            desk.say(node, where, "no reason stands here", "the reason why the readings do not count")
        return node.text
    resolve_keys(node, "reading", knowledge, where, desk)
    for name, entry in node.entries().items():
        if name in knowledge.readings and name not in (read.entries() if read else {}):
            desk.say(
                entry.key, f"{where}.{short(entry.key.text)}", "was not read in this step", "a reading of the same step"
            )
        elif (entry.node.text or "").lower() in _ONE_WORD:
            desk.say(
                entry.key,
                f"{where}.{short(entry.key.text)}",
                "no reason stands here",
                "the reason why the reading does not count",
            )
    return {name: entry.node.text or "" for name, entry in node.entries().items()}


def _read_log(
    log: Node, where: str, folder: Path, knowledge: Knowledge, parts: _Parts, desk: Desk
) -> TemperatureLog | None:
    shows = log.get("shows")
    if shows:
        resolve_keys(shows, "reading", knowledge, f"{where}.shows", desk)
        for name, entry in shows.entries().items():
            reading = knowledge.readings.get(name)
            if reading and reading.kind not in ("temperature", "probe temperature"):
                desk.say(
                    entry.key,
                    f"{where}.shows.{short(entry.key.text)}",
                    f"is no temperature but {reading.kind}",
                    "readings of temperature",
                )
    if shows is None or not shows.entries():
        desk.say(log, f"{where}.shows", "is missing", "which column is which reading, such as {supply air: T1}")
    file = log.get("file")
    if file is None or file.text is None:  # the schema reports it
        return None
    path = find_file(file.text, folder, (".csv",), LARGEST_TABLE, file, f"{where}.file", desk)
    if path is None:
        return None
    parts.files[file.text] = path
    columns = {name: entry.node.text for name, entry in (shows.entries() if shows else {}).items() if entry.node.text}
    table_desk = Desk(shown_path(path))
    found = logs.read_log(path, Path(file.text), columns, table_desk)
    parts.problems += [p for p in table_desk.problems if p not in parts.problems]
    return found


def _check_fan_table(root: Node, folder: Path, parts: _Parts, desk: Desk) -> None:
    table = root.get("blower", "fan table")
    if table is None or table.value is None:
        return
    where, motor = "blower.fan table", root.get("blower", "motor")
    holds = motor is not None and MOTOR.get(slug(motor.text or ""), motor.text) == HOLDS_AIRFLOW
    if table.text is None:
        parts.fan_table = fan_csv.read_inline(table, holds, where, desk)
    elif path := find_file(table.text, folder, (".csv",), LARGEST_TABLE, table, where, desk):
        parts.files[table.text] = path
        table_desk = Desk(shown_path(path))
        parts.fan_table = fan_csv.read_fan_csv(path, table_desk, holds)
        parts.problems += table_desk.problems
    for key in ("setting", "instructed setting"):
        setting = root.get("blower", key)
        if parts.fan_table and setting and setting.text and parts.fan_table.curve(setting.text) is None:
            names = list(parts.fan_table.airflow)
            desk.say(
                setting,
                f"blower.{key}",
                f"the fan table has no {short(setting.text)!r}",
                "one of " + ", ".join(map(short, names)),
                did_you_mean(setting.text, names),
            )


def _check_answers(root: Node, desk: Desk) -> None:
    """Give the rules that are answered their one form, in place."""
    answers = root.get("answered")
    entries = answers.entries() if answers else {}
    for name, entry in list(entries.items()):
        where, rule = f"answered.{short(name)}", slug(name)
        if entries.setdefault(rule, entries.pop(name)) is not entry:
            desk.say(entry.key, where, "is written twice", "each rule once")
        if rule not in RULES:
            desk.say(
                entry.key,
                where,
                "unknown rule",
                "the name of a rule, as its message shows it",
                did_you_mean(name, RULES),
            )
        elif (entry.node.text or "").lower() in _ONE_WORD:
            desk.say(entry.key, where, "no reason stands here", "the reason why the rule does not hold here")


# ---------------------------------------------------------------- the case


def _steps(case_file: CaseFile, parts: _Parts) -> tuple[CaseStep, ...]:
    steps: list[CaseStep] = []
    for visit_number, visit in enumerate(case_file.visits, 1):
        for step in visit.steps:
            own = parts.steps[len(steps)]
            if visit.kind == "follow-up" and not step.after:
                step = step.model_copy(update={"after": "follow-up"})  # how it is after the repair, not as found
            steps.append(
                CaseStep(
                    number=len(steps) + 1,
                    visit=visit_number,
                    date=visit.date,
                    step=step,
                    readings=own.readings,
                    seen=step.seen,
                    log=own.log,
                    line=own.line,
                )
            )
    return tuple(steps)


def _digest(case_id: str, plain: object, parts: _Parts) -> str:
    """Digest of the case's id, its public content with ids resolved, and the bytes of every file it names."""
    digest = hashlib.sha256(json.dumps([case_id, plain], ensure_ascii=False).encode())
    for name, path in sorted(parts.files.items()):
        digest.update(name.encode() + b"\0" + hashlib.sha256(path.read_bytes()).digest())
    return digest.hexdigest()
