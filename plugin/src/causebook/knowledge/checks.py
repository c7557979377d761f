"""Checks on the data files: every word names something, every number has a basis, every unit is one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from causebook import quantity as qty
from causebook.knowledge.bounds import read_bounds
from causebook.knowledge.files import DATA, Draft, Table
from causebook.knowledge.model import Knowledge, slug
from causebook.knowledge.rules import Rule
from causebook.problems import Problem, did_you_mean

REFERENCES: dict[str, dict[str, tuple[str, ...]]] = {
    "readings": {"accuracy": ("instruments",), "shows": ("findings",), "open_circuit": ("findings",)},
    "differences": {"reading": ("readings",), "less": ("readings",)},
    "voids": {"strikes": ("readings", "findings"), "findings": ("findings",), "states": ("states",)},
    "findings": {"stop": ("stops",)},
    "causes": {
        "part": ("components",),
        "priors": ("families",),
        "effects.on": ("unknowns",),
        "links": ("findings",),
        "pushes_down": ("findings",),
        "remedies": ("remedies",),
        "verify": ("verification",),
        "look_alikes": ("causes",),
        "stop": ("stops",),
    },
    "pairs": {"first": ("causes",), "second": ("causes",)},
    "damage": {"cause": ("causes",), "does": ("causes",)},
    "context": {"factors": ("causes",)},
    "tests": {
        "first": ("findings",),
        "reveals": ("findings",),
        "needs": ("tests",),
        "clears": ("causes",),
        "comes_to": ("stages",),
    },
    "verification": {"reading": ("readings",)},
    "proofs": {"part": ("components",), "finding": ("findings",), "besides": ("findings",), "clears": ("causes",)},
    "stops": {
        "any_of.finding": ("findings",),
        "any_of.reading": ("readings",),
        "any_of.minus": ("readings",),
        "allows": ("tests",),
        "covers": ("stops",),
    },
    "stages": {"finding": ("findings",), "families": ("families",)},
    "messages": {"after": ("stages",)},
    "cautions": {
        "triggers": ("readings", "findings", "tests", "components", "stops"),
        "states": ("states",),
        "ladder": ("stops",),
    },
}
"""Section -> field -> the sections in which its words must be found."""

BASIS_DUE: dict[str, str] = {
    "findings": "leak_basis",
    "causes": "basis",
    "pairs": "basis",
    "context": "basis",
    "tests": "basis",
    "proofs": "basis",
    "cautions": "basis",
    "malfunctions": "basis",
    "stages": "basis",
    "messages": "basis",
}
"""Fields that may be absent from an entry in code but never from one in a file: no number without its basis."""

FIXED = (
    ("constants", "unit"),
    ("bounds", "kind"),
    ("bounds", "possible"),
    ("ranges", "possible"),
    ("readings", "kind"),
)
"""Fields of our own entries that a company leaves as they are: the core computes in them."""

NAMED_ALIKE = ("readings", "findings", "causes")
"""Sections whose aliases share one space of names."""


def names_of(table: Table, problems: list[Problem]) -> dict[str, str]:
    """Alias -> id; an alias must mean one thing only."""
    names: dict[str, str] = {}
    for section in ("families", *NAMED_ALIKE):
        for id_, entry in table[section].items():
            listed = entry.data.get("aliases") if isinstance(entry.data, dict) else None
            for alias in map(slug, map(str, listed if isinstance(listed, list) else ())):
                taken = alias if any(alias in table[s] for s in NAMED_ALIKE) else names.get(alias, id_)
                holder = next(((s, table[s][alias]) for s in NAMED_ALIKE if alias in table[s]), None)
                if taken != id_ and holder and entry.marks.path.parent == DATA != holder[1].marks.path.parent:
                    where, found = f"{holder[0]}.{alias}", f"{alias!r} already means {id_!r}"
                    problems.append(holder[1].marks.problem((), where, found, "an id of its own"))
                elif taken != id_:
                    where, found = f"{section}.{id_}.aliases", f"{alias!r} already means {taken!r}"
                    problems.append(entry.marks.problem(("aliases",), where, found, "a name of its own"))
                names[alias] = id_
    return names


def resolve(
    entry: Draft,
    fields: list[str],
    targets: tuple[str, ...],
    table: Table,
    names: Mapping[str, str],
    problems: list[Problem],
) -> None:
    """Turn the words of one field into ids, in place; a word that names nothing is a problem."""

    def id_of(word: Any, place: tuple[Any, ...]) -> Any:
        if not isinstance(word, str) or word == "":
            return word
        known = [known for target in targets for known in table[target]]
        id_ = slug(word)
        id_ = id_ if id_ in known else names.get(id_, id_)
        if id_ not in known:
            problems.append(
                entry.marks.problem(
                    place,
                    ".".join(map(str, place)),
                    repr(word),
                    "an id of " + " or ".join(targets),
                    did_you_mean(id_, known),
                )
            )
        return id_

    def walk(data: Any, rest: list[str], place: tuple[Any, ...]) -> None:
        if isinstance(data, list):
            for number, item in enumerate(data):
                walk(item, rest, (*place, number))
        elif isinstance(data, dict) and rest[0] in data:
            key, value = rest[0], data[rest[0]]
            place = (*place, key)
            if len(rest) > 1:
                walk(value, rest[1:], place)
            elif isinstance(value, dict) and targets == ("instruments",):
                return  # an accuracy stated outright names none
            elif isinstance(value, dict):
                data[key] = {id_of(word, (*place, word)): number for word, number in value.items()}
            elif isinstance(value, list):
                data[key] = [id_of(word, (*place, number)) for number, word in enumerate(value)]
            else:
                data[key] = id_of(value, place)

    walk(entry.data, fields, ())


def read_bases(entry: Draft, section: str, sources: Mapping[str, Draft], problems: list[Problem]) -> None:
    """Turn "kind: source" into its parts, in place; a standard must name a known source, a number have a basis."""

    def walk(data: Any, place: tuple[Any, ...]) -> None:
        for key, value in _inside(data):
            here = (*place, key)
            if isinstance(key, str) and key.endswith("basis") and isinstance(value, str):
                kind, _, source = value.partition(": ")
                data[key] = {"kind": kind, "source": source}
                named = source.replace(";", ",").split(",")[0].strip()
                if kind == "standard" and named not in sources:
                    problems.append(
                        entry.marks.problem(
                            here,
                            ".".join(map(str, here)),
                            f"source {named!r}",
                            "an id of sources",
                            did_you_mean(named, sources),
                        )
                    )
            else:
                walk(value, here)

    walk(entry.data, ())
    due = BASIS_DUE.get(section)
    if due and isinstance(entry.data, dict) and due not in entry.data:
        problems.append(
            entry.marks.problem(
                (),
                due,
                "missing",
                "where its numbers come from",
                "such as `expert estimate`, or `defaults:` at the top of the file",
            )
        )


def _inside(data: Any) -> Iterator[tuple[Any, Any]]:
    """Key and value of everything directly within."""
    if isinstance(data, dict):
        yield from data.items()
    elif isinstance(data, list):
        yield from enumerate(data)


def check_quantities(built: Mapping[str, Mapping[str, Any]], table: Table, problems: list[Problem]) -> None:
    """Kinds that exist, accuracies and limits in units of their kind."""

    def check(section: str, id_: str, place: tuple[Any, ...], text: str, kind: qty.Kind) -> None:
        try:
            qty.parse(text, kind)
        except qty.QuantityError as error:
            problems.append(
                table[section][id_].marks.problem(place, f"{section}.{id_}", error.found, error.expected, error.hint)
            )

    readings = built["readings"]
    for id_, reading in readings.items():
        if reading.kind not in qty.KINDS:
            problems.append(
                table["readings"][id_].marks.problem(
                    ("kind",),
                    f"readings.{id_}.kind",
                    repr(reading.kind),
                    "a kind of quantity",
                    did_you_mean(reading.kind, qty.KINDS),
                )
            )
        elif reading.accuracy.fixed:
            kind = qty.KINDS[reading.kind]
            kind = qty.TEMPERATURE_DIFFERENCE if kind.si == "K" else kind
            check("readings", id_, ("accuracy",), reading.accuracy.fixed, kind)
    for id_, stop in built["stops"].items():
        for number, condition in enumerate(stop.any_of):
            of = qty.KINDS.get(getattr(readings.get(condition.reading), "kind", ""))
            for text in filter(None, (condition.above, condition.below)):
                if of:
                    check("stops", id_, ("any_of", number), text, of)
    for section, field in (("findings", "limit_unit"), ("constants", "unit")):
        for id_, entry in built[section].items():
            unit = getattr(entry, field)
            if not qty.is_unit(unit):
                problems.append(
                    table[section][id_].marks.problem(
                        (field,), f"{section}.{id_}.{field}", repr(unit), "a unit of the registry"
                    )
                )


def check_bounds(built: Mapping[str, Mapping[str, Any]], table: Table, problems: list[Problem]) -> None:
    """Bounds, ranges and differences that can be read as what they bound."""

    def check(section: str, id_: str, place: tuple[Any, ...], text: str, kind: qty.Kind | None) -> None:
        if kind is None:
            return
        try:
            read_bounds(text, kind)
        except qty.QuantityError as error:
            problems.append(
                table[section][id_].marks.problem(place, f"{section}.{id_}", error.found, error.expected, error.hint)
            )

    def say(section: str, id_: str, place: tuple[Any, ...], found: str, expected: str, known: Iterable[str]) -> None:
        hint = did_you_mean(found, known)
        problems.append(table[section][id_].marks.problem(place, f"{section}.{id_}", repr(found), expected, hint))

    def kind_of(reading: str) -> qty.Kind | None:
        return qty.KINDS.get(getattr(built["readings"].get(reading), "kind", ""))

    for id_, bound in built["bounds"].items():
        if bound.kind not in qty.KINDS:
            say("bounds", id_, ("kind",), bound.kind, "a kind of quantity", qty.KINDS)
        check("bounds", id_, ("possible",), bound.possible, qty.KINDS.get(bound.kind))
    for id_, range_ in built["ranges"].items():
        if id_ not in table["readings"]:
            say("ranges", id_, (), id_, "the id of a reading", table["readings"])
        for field, bounds in (("possible", range_.possible), ("plausible", range_.plausible)):
            for mode, text in bounds.items():
                check("ranges", id_, (field, mode), text, kind_of(id_))
    for id_, rule in built["differences"].items():
        kind = kind_of(rule.reading)
        check("differences", id_, ("plausible",), rule.plausible, _difference(kind) if kind else None)
    for word, component in built["pieces"].items():
        if slug(component) not in built["components"]:
            say("pieces", word, (), component, "one of components", built["components"])


def _difference(kind: qty.Kind) -> qty.Kind:
    return qty.TEMPERATURE_DIFFERENCE if kind.si == "K" else kind


def check_states(built: Mapping[str, Mapping[str, Any]], table: Table, problems: list[Problem]) -> None:
    """Every state that a rule or a caution names is a word of the vocabulary."""
    for section in ("voids", "cautions"):
        for id_, entry in built[section].items():
            for part, state in entry.states.items():
                words = getattr(built["states"].get(part), "words", {})
                if part in built["states"] and state not in words:
                    problems.append(
                        table[section][id_].marks.problem(
                            ("states", part),
                            f"{section}.{id_}.states.{part}",
                            repr(state),
                            "one of " + ", ".join(words),
                            did_you_mean(state, words),
                        )
                    )


def check_rules(
    built: Mapping[str, Mapping[str, Any]], ours: Knowledge | None, table: Table, problems: list[Problem]
) -> None:
    """Rules of findings that speak of readings and values there are, in units of their kind, and a test for each.

    A company may take a test of `ours` away: its findings are then told as any other.
    """
    values = {**built["readings"], **built["values"]}
    revealed = {id_ for test in built["tests"].values() for id_ in test.reveals}

    def say(id_: str, place: tuple[Any, ...], found: str, expected: str, hint: str = "") -> None:
        problems.append(
            table["findings"][id_].marks.problem(place, f"findings.{id_}.{place[0]}", found, expected, hint)
        )

    for id_, finding in built["findings"].items():
        if id_ not in revealed and (ours is None or id_ not in ours.findings):
            say(id_, ("name",), "no test reveals it", "its id under `reveals` of a test")
        for number, rule in enumerate(finding.when):
            place = ("when", number) if len(finding.when) > 1 else ("when",)
            unknown = [name for name in rule.ids if name not in values]
            for name in unknown:
                say(id_, place, repr(name), "a reading or a value", did_you_mean(name, values))
            for text, kind in _texts(rule, values) if not unknown else ():
                try:
                    qty.parse(text, kind)
                except qty.QuantityError as error:
                    say(id_, place, error.found, error.expected, error.hint)
    for id_, value in built["values"].items():
        if value.kind not in qty.KINDS:
            found, hint = repr(value.kind), did_you_mean(value.kind, qty.KINDS)
            marks = table["values"][id_].marks
            problems.append(marks.problem(("kind",), f"values.{id_}.kind", found, "a kind of quantity", hint))


def _texts(rule: Rule, values: Mapping[str, Any]) -> Iterator[tuple[str, qty.Kind]]:
    """The quantities that a rule writes, with their kinds."""
    for way in rule.ways:
        kind = qty.KINDS.get(values[next(iter(way))].kind)
        if kind is not None:
            apart = qty.spread_kind(kind)
            if isinstance(rule.bound, str):
                yield rule.bound, qty.SHARE if rule.of else apart if len(way) > 1 and not sum(way.values()) else kind
            yield from ((text, apart) for text in (rule.by, rule.sd) if text)
    for given in rule.provided:
        yield from _texts(given, values)


def check_roles(built: Mapping[str, Mapping[str, Any]], ours: Knowledge, table: Table, problems: list[Problem]) -> None:
    """What the core takes by name keeps its meaning in a company's files.

    Our own findings name every rule there is for computing one, and show what limit each rule holds its value against.
    """
    rules = {finding.computed: finding for finding in ours.findings.values() if finding.computed}

    def say(section: str, id_: str, field: str, found: str, expected: str, hint: str = "") -> None:
        problems.append(table[section][id_].marks.problem((field,), f"{section}.{id_}.{field}", found, expected, hint))

    for id_, finding in built["findings"].items():
        before = ours.findings.get(id_)
        if before is not None and (before.computed or before.when) and not (finding.computed or finding.when):
            field = "computed" if before.computed else "when"
            hint = "take the whole finding away, or say by `when` what it follows from"
            say("findings", id_, field, "taken away", "what works it out from readings", hint)
        model = rules.get(finding.computed)
        if finding.computed and model is None:
            say(
                "findings",
                id_,
                "computed",
                repr(finding.computed),
                "a rule that one of the built-in findings names",
                did_you_mean(finding.computed, rules),
            )
        elif model is not None and model.limit is not None:
            if finding.limit is None:
                say("findings", id_, "limit", "missing", f"a number in {model.limit_unit}")
            elif not qty.q(1, finding.limit_unit).is_compatible_with(qty.q(1, model.limit_unit)):
                say("findings", id_, "limit_unit", repr(finding.limit_unit), f"a unit like {model.limit_unit}")
    for section, field in FIXED:
        theirs = getattr(ours, section)
        for id_ in built[section].keys() & theirs.keys():
            kept, now = getattr(theirs[id_], field), getattr(built[section][id_], field)
            if now != kept:
                say(section, id_, field, repr(now), f"{kept!r}, as built in")
