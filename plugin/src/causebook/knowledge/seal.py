"""What a company's folder may not weaken: everything on the way from a reading to a stop-use notice.

The way is walked in our own data, from the stops down: what fires a stop (findings, readings, causes), what those are
drawn from (readings, the findings a cause is known by, the numbers of the model they are held against), what is told
and done about them (tests, cautions, proofs) and the words that lead to them.  Nothing is listed here by its id.

Each field of each entry met on the way stays as built in.  `FREE` and `DIRECTIONS` say which may be changed all the
same, and which way: more that fires, more that is forbidden, a lower limit.  A field that is new to the data is sealed
from the start.  What is added beside the way is held to one thing: it takes nothing from it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from causebook import quantity as qty
from causebook.knowledge.entry import Entry
from causebook.knowledge.files import LISTED, Removed, Table, identity
from causebook.knowledge.marked import cut
from causebook.knowledge.model import Context, Knowledge, Pair, Stop
from causebook.knowledge.rules import Rule
from causebook.problems import Problem

ROOTS = ("stops", "cautions")
"""Sections of which every entry of ours is sealed: the way begins at them."""

DOWN: Mapping[str, Mapping[str, str]] = {
    "stops": {"any_of.finding": "findings", "any_of.reading": "readings", "any_of.minus": "readings"},
    "findings": {"when.ids": "values"},
    "causes": {"links": "findings"},
}
"""Section -> field that names what its entries rest on -> the section in which that stands."""

UP: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "findings": {"stop": ("stops",)},
    "causes": {"stop": ("stops",)},
    "readings": {"shows": ("findings",)},
    "tests": {"reveals": ("findings",)},
    "proofs": {"finding": ("findings",), "besides": ("findings",), "clears": ("causes",)},
}
"""Section -> field that names what its entries lead to -> the section of that: they are on the way if it is."""

FREE = frozenset({"id", "basis", "leak_basis", "minutes", "accuracy", "voided_by"})
"""Fields that never reach a notice: where a number is from, what a test costs, how well an instrument reads (a stop
judges the value as it was read)."""

RISKS = ("none", "low", "moderate", "high")


@dataclass(frozen=True, slots=True)
class Direction:
    """One way in which a field may be changed."""

    holds: Callable[[Any, Any], bool]
    """Is the second value the first, or stricter?"""
    expected: str


def _more(ours: Any, theirs: Any) -> bool:
    if isinstance(ours, Mapping):
        return all(theirs.get(key) == value for key, value in ours.items())
    return set(ours) <= set(theirs)


def _raised(ours: Mapping[str, float], theirs: Mapping[str, float]) -> bool:
    return all(theirs.get(key, 0.0) >= value for key, value in ours.items())


SAME = Direction(lambda ours, theirs: bool(ours == theirs), "as built in")
MORE = Direction(_more, "all that is built in, and more where you are stricter")
FEWER = Direction(lambda ours, theirs: set(theirs) <= set(ours), "none but those that are built in")
RAISED = Direction(_raised, "no number lower than built in")
LOWERED = Direction(lambda ours, theirs: theirs <= ours, "no number higher than built in")
RISKIER = Direction(lambda ours, theirs: RISKS.index(theirs) >= RISKS.index(ours), "no less risk than built in")

DIRECTIONS: Mapping[str, Mapping[str, Direction]] = {
    "stops": {"aliases": MORE, "any_of": MORE, "forbids": MORE, "allows": FEWER},
    "findings": {"aliases": MORE, "leak": LOWERED, "risk": RISKIER},
    "causes": {"aliases": MORE, "priors": RAISED, "verify": MORE, "damage": MORE},
    "readings": {"aliases": MORE, "also": MORE, "shows": MORE},
    "tests": {"aliases": MORE, "risk": RISKIER, "reveals": MORE, "runs": MORE, "clears": FEWER},
    "cautions": {"aliases": MORE, "triggers": MORE, "states": MORE},
    "voids": {"aliases": MORE, "strikes": MORE, "findings": MORE},
    "proofs": {"besides": MORE, "clears": FEWER},
}
"""Section -> field -> the way it may be changed; all others stay as they are."""

MOVED = {"constants": ("value",)}
"""Fields of the number that an entry is held against: it moves the way that `safer` says."""
_NUMBER = re.compile(r"([-−+]?[\d.]+)\s*(.*)")


@dataclass(frozen=True, slots=True)
class Sealed:
    """One entry on the way."""

    section: str
    id: str
    why: str
    """What it leads to, in words."""
    fields: frozenset[str] | None = None
    """Only these of its fields count, and it may be taken away; None: all, and it stays."""


def way(ours: Knowledge) -> dict[tuple[str, str], Sealed]:
    """Every entry of ours between a reading and a notice, by section and id."""
    met: dict[tuple[str, str], Sealed] = {}

    def meet(section: str, id_: str, why: str, fields: frozenset[str] | None = None) -> bool:
        new = (section, id_) not in met
        if new:
            met[section, id_] = Sealed(section, id_, why, fields)
        return new

    for section in ROOTS:
        for id_ in getattr(ours, section):
            meet(section, id_, "people rely on it")
    # What fires a stop, and what that rests on, before what is told about it: only the first leads further.
    while any([meet(*step) for step in _steps(ours, met)]):
        pass
    for section, id_, why in tuple(_beside(ours, met)):
        meet(section, id_, why)
    for test in ours.tests.values():
        if test.runs:
            meet("tests", test.id, "stops forbid it by what it runs", frozenset({"runs", "licensed"}))
    return met


def _steps(ours: Knowledge, met: Mapping[tuple[str, str], Sealed]) -> list[tuple[str, str, str]]:
    """What is one step further from the notices: an entry that fires one, or that one on the way rests on."""
    found = [
        (target, id_, f"the {section[:-1]} {name!r} rests on it")
        for (section, name) in met
        for field, target in DOWN.get(section, {}).items()
        for id_ in words(getattr(ours, section)[name], field)
        if id_ in getattr(ours, target)
    ]
    found += [
        (section, id_, f"it leads to {to[1]!r}")
        for section in ("findings", "causes", "readings")
        for id_, entry in getattr(ours, section).items()
        for to in _leads(entry, UP[section], met)
    ]
    return found


def _beside(ours: Knowledge, met: Mapping[tuple[str, str], Sealed]) -> Iterator[tuple[str, str, str]]:
    """What is told, tried and weighed about what is on the way."""
    for section in UP.keys() - {"findings", "causes", "readings"}:
        for id_, entry in entries_of(ours, section).items():
            for to in _leads(entry, UP[section], met):
                yield section, id_, f"it is about {to[1]!r}"
    for id_ in (id_ for stop in ours.stops.values() for id_ in stop.allows):
        yield "tests", id_, "a stop allows it"
    subtracted = {c.minus for stop in ours.stops.values() for c in stop.any_of if c.minus}
    for id_, void in ours.voids.items():
        if subtracted.intersection(void.strikes):
            yield "voids", id_, "it strikes what a stop subtracts"
    for id_, constant in ours.constants.items():
        if constant.safer:
            yield "constants", id_, "a stop is held against it"
    names = " ".join(
        f" {getattr(ours, section)[id_].name.lower()} ".translate(_SPACED)
        for section, id_ in met
        if section in ("stops", "findings", "causes")
    )
    for id_, said in ours.synonyms.items():
        if f" {said.lower()} ".translate(_SPACED) in names:
            yield "synonyms", id_, "it leads to the words of a stop"


_SPACED = str.maketrans({c: " " for c in ",.:;()-/"})


def _leads(
    entry: Any, fields: Mapping[str, tuple[str, ...]], met: Mapping[tuple[str, str], Sealed]
) -> Iterator[tuple[str, str]]:
    return (
        (section, id_)
        for field, sections in fields.items()
        for id_ in words(entry, field)
        for section in sections
        if (section, id_) in met
    )


def words(entry: Any, path: str) -> tuple[str, ...]:
    """The ids that a field names: of a mapping its keys, of a list of entries a field of theirs (`any_of.reading`)."""
    field, _, rest = path.partition(".")
    value = getattr(entry, field)
    if rest:
        return tuple(word for one in value for word in words(one, rest))
    return tuple(filter(None, (value,) if isinstance(value, str) else value))


def entries_of(ours: Knowledge, section: str) -> Mapping[str, Any]:
    """The entries of a section by what makes each the same one: its id, or of a list the fields that stand for it."""
    entries = getattr(ours, section)
    if section not in LISTED:
        return dict(entries)
    return {identity(section, entry.model_dump(by_alias=True)): entry for entry in entries}


# ------------------------------------------------------------------------------------------------- holding to it


def check_removed(removed: Iterable[Removed], ours: Knowledge) -> Iterator[Problem]:
    """Of entries that were taken away, those that lead to a notice."""
    sealed = way(ours)
    for one in removed:
        at = sealed.get((one.section, one.id))
        if at is not None and at.fields is None:
            yield one.marks.problem((), f"{one.section}.{one.id}", f"taken away, but {at.why}", "what it says")


def check_sealed(
    built: Mapping[str, Mapping[str, Any]], ours: Knowledge, table: Table, problems: list[Problem]
) -> None:
    """Hold what was built with a company's folder against ours: nothing on the way is weaker."""
    for section, id_, field, found, expected in weakened(built, ours, way(ours)):
        place, name = ((field,), f"{section}.{id_}.{field}") if field else ((), f"{section}.{id_}")
        problems.append(table[section][id_].marks.problem(place, name, found, expected))


def weakened(
    built: Mapping[str, Mapping[str, Any]], ours: Knowledge, sealed: Mapping[tuple[str, str], Sealed]
) -> Iterator[tuple[str, str, str, str, str]]:
    """Whatever weakens a notice: section, id, field, what was found there, what was expected."""
    before = {section: entries_of(ours, section) for section in {at.section for at in sealed.values()}}
    for at in sealed.values():
        was, now = before[at.section][at.id], built[at.section].get(at.id)
        if now is None or now is was:
            continue
        for field, expected in weaker(at, _as_written(was, ours), now):
            given = cut(repr(getattr(now, field) if field else now))
            yield at.section, at.id, field, f"{given}, but {at.why}", expected
    for id_, stop in built["stops"].items():
        if id_ not in ours.stops and set(stop.covers) & set(ours.stops):
            yield "stops", id_, "covers", "silences a built-in stop", "stops of your own only"
    firing = frozenset(id_ for section, id_ in sealed if section == "causes")
    for section, field, factors in (("context", "factors", _context), ("pairs", "factor", _pair)):
        theirs = {id_: e for id_, e in built[section].items() if firing & factors(e).keys()}
        ours_ = entries_of(ours, section)
        for id_, entry in theirs.items():
            same = ours_.get(identity(section, entry.model_dump(by_alias=True)))
            least, now = factors(same) if same else {}, factors(entry)
            if any(now.get(c, 1.0) < least.get(c, 1.0) for c in firing & (least.keys() | now.keys())):
                yield section, id_, field, "makes a cause rarer that fires a stop", "no less than built in, or than 1"


def _context(entry: Context) -> Mapping[str, float]:
    return entry.factors


def _pair(entry: Pair) -> Mapping[str, float]:
    return {entry.first: entry.factor, entry.second: entry.factor}


def _as_written(was: Any, ours: Knowledge) -> Any:
    """A stop with the conditions that stand in its own entry: the findings that name it are held to that themselves."""
    if not isinstance(was, Stop):
        return was
    own = tuple(c for c in was.any_of if not c.finding or ours.findings[c.finding].stop != was.id)
    return was.model_copy(update={"any_of": own})


def weaker(at: Sealed, was: Any, now: Any) -> Iterator[tuple[str, str]]:
    """Each field in which an entry is no longer at least as strict, and what is expected of it."""
    if not isinstance(was, Entry):
        if was != now:
            yield "", f"{was!r}, as built in"
        return
    moved = MOVED.get(at.section, ())
    shift = _shift(was, now, moved) if moved else 0.0
    safer = getattr(was, "safer", "")
    stricter = bool(shift) and bool(safer) and (shift < 0) == (safer == "lower")
    for field in type(was).model_fields:
        old, new = getattr(was, field), getattr(now, field)
        if old == new or field in FREE or (at.fields is not None and field not in at.fields):
            continue
        if field in moved:
            if shift is None or (shift and not stricter):
                yield field, f"{old!r}, as built in" + (f", or {safer}" if safer else "")
        elif field == "when":
            if safer != "lower" or not _no_looser(old, new):
                yield field, "the rules as built in" + (", or a lower bound" if safer else "")
        else:
            direction = DIRECTIONS.get(at.section, {}).get(field, SAME)
            if not direction.holds(old, new):
                yield field, direction.expected if direction is not SAME else f"{old!r}, as built in"


def _no_looser(ours: Sequence[Rule], theirs: Sequence[Rule]) -> bool:
    """The same rules, with no bound but a lower one, in the unit that it has here."""
    return len(ours) == len(theirs) and all(
        was.model_dump(exclude={"above", "by"}) == now.model_dump(exclude={"above", "by"})
        and all(_no_higher(getattr(was, field), getattr(now, field)) for field in ("above", "by"))
        for was, now in zip(ours, theirs, strict=True)
    )


def _no_higher(ours: object, theirs: object) -> bool:
    if not isinstance(ours, str) or not isinstance(theirs, str):
        return ours == theirs
    was, now = _NUMBER.fullmatch(ours), _NUMBER.fullmatch(theirs)
    return ours == theirs or bool(was and now and was[2] == now[2] and _value(now[1]) <= _value(was[1]))


def _shift(was: Any, now: Any, fields: tuple[str, ...]) -> float | None:
    """How far the number of an entry was moved, in its old unit; None where it came, went or cannot be compared."""
    (value, unit), (new, its) = ([*(getattr(one, f) for f in fields), ""][:2] for one in (was, now))
    if unit == its and value is not None and new is not None:
        return float(new - value)
    if value is None or new is None or not qty.is_unit(its):
        return 0.0 if (value, unit) == (new, its) else None
    old, moved = qty.q(value, unit), qty.q(new, its)
    return float((moved.to(unit) - old).magnitude) if old.is_compatible_with(moved) else None


def _value(number: str) -> float:
    return float(number.replace("−", "-"))
