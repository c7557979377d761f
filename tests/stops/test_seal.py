"""What a company's folder can do to the stops: add to them, and nothing else.

The way from a reading to a notice is walked in the data, and every field of every entry on it is changed, alone and two
at a time.  What is not refused must leave each notice of the cases that fire it as it was.  The suite changes every
field of every stop, and of a sample of the other entries; with WHOLE_WALK=1 in the environment, of all entries.
"""

from __future__ import annotations

import itertools
import os
import random
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any, get_args

import pytest
import yaml
from pydantic import TypeAdapter, ValidationError

from causebook import quantity as qty
from causebook.belief.barred import barred
from causebook.belief.stops import stops
from causebook.belief.verdict import Belief, CauseBelief, Role, StopNotice
from causebook.casefile.model import Case
from causebook.knowledge import KnowledgeError, load
from causebook.knowledge.checks import REFERENCES
from causebook.knowledge.files import BY_ID, LISTED
from causebook.knowledge.model import Condition, Entry, Knowledge, Reading, Stop
from causebook.knowledge.seal import ROOTS, Sealed, entries_of, way, weakened, words
from causebook.survey.survey import survey
from firing import FIRING
from made import make_case

OURS = load()
WAY = dict(sorted(way(OURS).items()))
BUILT = {section: entries_of(OURS, section) for section in (*BY_ID, *LISTED)}
WHOLE = bool(os.environ.get("WHOLE_WALK"))
PAIRS = 30 if WHOLE else 8
"""How many pairs of changes are tried in one entry."""
SUSPECT = [id_ for section, id_ in WAY if section == "causes"]


def walked() -> list[Sealed]:
    """The entries that are changed field by field: of every section some, of the stops all."""
    if WHOLE:
        return list(WAY.values())
    pick = random.Random(1)
    chosen = []
    for section in dict.fromkeys(section for section, _ in WAY):
        entries = [at for at in WAY.values() if at.section == section]
        chosen += entries if section == "stops" else pick.sample(entries, -(-len(entries) // 8))
    return chosen


def entry_of(at: Sealed) -> Any:
    """An entry of ours on the way."""
    return BUILT[at.section][at.id]


# ------------------------------------------------------------------------------------------------- changes


def changed(value: Any, options: tuple[Any, ...] = ()) -> Iterator[Any]:
    """Other values that a field might be given, of its type or near it."""
    if isinstance(value, bool):
        yield not value
    elif isinstance(value, int | float):
        yield from (0, value / 2, value * 2, value - 1, value + 1, -value, 1e9, None)
    elif isinstance(value, str):
        yield from (o for o in options if o != value)
        yield from ("", f"{value} or more", "Carry on, all is safe.")
    elif isinstance(value, tuple):
        yield ()
        yield from (value[:n] + value[n + 1 :] for n in range(min(len(value), 3)))
        yield (*value, *value)
        yield (*value, "something-else")
        for first in itertools.islice((v for v in value if isinstance(v, Entry)), 1):
            yield from ((other, *value[1:]) for other in changed(first))
        yield from ((*value, o) for o in options if o not in value)
    elif isinstance(value, Mapping):
        yield {}
        for key in itertools.islice(value, 3):
            yield {k: v for k, v in value.items() if k != key}
            was = value[key]
            others = (0.0, was / 2, min(was * 2, 0.99)) if isinstance(was, float) else changed(was)
            yield from ({**value, key: other} for other in others)
    elif isinstance(value, Entry):
        for name, inner in type(value).model_fields.items():
            for other in changed(getattr(value, name), literals(inner.annotation)):
                yield value.model_dump(by_alias=True) | {name: other}
    else:
        yield from (1, 0, "something-else")


def literals(annotation: Any) -> tuple[Any, ...]:
    """The words that a field may hold, its own or those of what it is a list of."""
    inner = [a for a in get_args(annotation) if a is not Ellipsis]
    plain = tuple(a for a in inner if isinstance(a, str))
    return plain or tuple(word for a in inner for word in literals(a))


@cache
def singles(at: Sealed) -> tuple[tuple[str, Any], ...]:
    """Every change of one field of an entry that its type lets in."""
    entry = entry_of(at)
    if not isinstance(entry, Entry):
        return tuple(("", other) for other in changed(entry))
    told = []
    for name, field in type(entry).model_fields.items():
        if name == "id":
            continue
        for other in changed(getattr(entry, name), literals(field.annotation)):
            if laid(at, {name: other}) not in (None, entry):
                told.append((name, other))
    return tuple(told)


def laid(at: Sealed, fields: Mapping[str, Any]) -> Entry | None:
    """An entry with other values in some fields; None where the loader refuses them whatever they do."""
    entry = entry_of(at)
    aliased = {f.alias or name: getattr(entry, name) for name, f in type(entry).model_fields.items()}
    try:
        made: Entry = TypeAdapter(type(entry)).validate_python({**aliased, **fields})
        if isinstance(made, Reading) and made.accuracy.fixed:
            qty.parse(made.accuracy.fixed, qty.spread_kind(qty.KINDS[made.kind]))
        for one in made.any_of if isinstance(made, Stop) else ():
            for text in filter(None, (one.above, one.below)):
                qty.parse(text, qty.KINDS[OURS.readings[one.reading].kind])
    except (ValidationError, qty.QuantityError, KeyError):
        return None
    for field, targets in REFERENCES.get(at.section, {}).items():
        if field != "accuracy" and any(not any(w in BUILT[t] for t in targets) for w in words(made, field)):
            return None
    return made


def with_(at: Sealed, entry: Any) -> Mapping[str, Mapping[str, Any]]:
    """All sections with one entry exchanged."""
    return {**BUILT, at.section: {**BUILT[at.section], at.id: entry}}


def refused(at: Sealed, entry: Any) -> bool:
    return any((s, i) == (at.section, at.id) for s, i, *_ in weakened(with_(at, entry), OURS, WAY))


@cache
def let_in(at: Sealed) -> tuple[tuple[str, Any, Any], ...]:
    """The changes of one field that are not refused: field, value and the entry that holds it."""
    laid_out = ((f, v, laid(at, {f: v}) if f else v) for f, v in singles(at))
    return tuple((f, v, new) for f, v, new in laid_out if not refused(at, new))


def known(*exchanged: tuple[Sealed, Any]) -> Knowledge:
    """The knowledge with entries exchanged, completed as the loader does it."""
    sections: dict[str, Any] = {}
    for at, entry in exchanged:
        if at.section in BY_ID:
            sections.setdefault(at.section, dict(getattr(OURS, at.section)))[at.id] = entry
    for stop in sections.get("stops", {}).values():
        named = (Condition(finding=f.id) for f in OURS.findings.values() if f.stop == stop.id)
        sections["stops"][stop.id] = stop.model_copy(update={"any_of": (*stop.any_of, *named)})
    return OURS.model_copy(update=sections)


# ------------------------------------------------------------------------------------------------- notices

BELIEVED = [CauseBelief(c, OURS.causes[c].name, 0.5, Belief.LIKELY, Role.ROOT, "") for c in SUSPECT]
"""Each cause that fires a stop, just likely."""
CASES: list[tuple[Case, str]] = [(make_case(OURS, step), stop) for step, stop in FIRING]


def notices(case: Case, knowledge: Knowledge, believed: list[CauseBelief]) -> tuple[list[StopNotice], frozenset[str]]:
    surveyed = survey(case, knowledge)
    told = stops(case, surveyed, believed, knowledge)
    return list(told), barred(surveyed, told, knowledge)


def said(notice: StopNotice) -> tuple[Any, ...]:
    return (notice.id, notice.name, notice.notice, notice.do, notice.technician, notice.leave, notice.way_on,
            notice.out_of_service, notice.open, notice.step)  # fmt: skip


@cache
def before(number: int) -> tuple[frozenset[tuple[Any, ...]], frozenset[str]]:
    """What case `number` fires with our own knowledge; the last one has believed causes only."""
    case, believed = run(number)
    told, out = notices(case, OURS, believed)
    return frozenset(map(said, told)), out


def run(number: int) -> tuple[Case, list[CauseBelief]]:
    return (CASES[number][0], []) if number < len(CASES) else (make_case(OURS, {}), BELIEVED)


def touched(at: Sealed) -> list[int]:
    """The cases in which a change of an entry could show."""
    if at.section == "stops":
        return [n for n, (_, stop) in enumerate(CASES) if stop == at.id] + [len(CASES)]
    if at.section in ("findings", "readings"):
        shown = OURS.readings[at.id].shows if at.section == "readings" else (at.id,)
        return [
            n
            for n, (case, _) in enumerate(CASES)
            for step in case.steps
            if step.seen.keys() & set(shown)
            or any(t.reading == at.id or set(OURS.readings[t.reading].shows) & set(shown) for t in step.readings)
        ] or [0]
    return [0, 12, 20, len(CASES)] if at.section in ("causes", "constants", "tests") else [0]


def weaker_in(number: int, knowledge: Knowledge) -> str:
    """What a case lost with other knowledge: a notice, its words, or a test that had been barred."""
    case, believed = run(number)
    told, out = notices(case, knowledge, believed)
    was, barred_before = before(number)
    lost = was - set(map(said, told))
    freed = barred_before - out
    return f"{[x[0] for x in lost]} {sorted(freed)}" if lost or freed else ""


# ------------------------------------------------------------------------------------------------- the tests


def test_the_way_holds_what_it_should() -> None:
    """Nothing that fires a stop in a case is off the way."""
    for case, stop in CASES:
        assert stop in {n.id for n in notices(case, OURS, [])[0]}
        for step in case.steps:
            for id_ in [*step.seen, *(t.reading for t in step.readings)]:
                assert ("findings", id_) in WAY or ("readings", id_) in WAY, id_
    sections = "stops cautions findings readings causes tests proofs constants synonyms values"
    assert {s for s, _ in WAY} == set(sections.split())
    assert all((section, id_) in WAY for section in ROOTS for id_ in getattr(OURS, section))
    told, _ = notices(*run(len(CASES))[:1], OURS, BELIEVED)
    assert {n.id for n in told} == {OURS.causes[c].stop for c in SUSPECT} and all(n.suspected for n in told)


def test_a_number_that_a_stop_is_held_against_says_which_way_is_safer() -> None:
    fire = [f for f in OURS.findings.values() if f.stop and f.when]
    assert fire and all(f.safer for f in fire)


@pytest.mark.parametrize("at", walked(), ids=lambda at: f"{at.section}.{at.id}")
def test_each_change_of_a_field_is_refused_or_takes_nothing(at: Sealed) -> None:
    assert singles(at)
    for field, other, new in let_in(at):
        knowledge = known((at, new))
        for number in touched(at):
            assert not (lost := weaker_in(number, knowledge)), f"{field}: {other!r} loses {lost}"
    # Two at a time: what each does alone it does together.
    pick = random.Random(at.id)
    both = list(itertools.combinations(singles(at), 2))
    for (one, first), (two, second) in pick.sample(both, min(len(both), PAIRS)):
        if one == two or not one:
            continue
        new = laid(at, {one: first, two: second})
        if new is None or refused(at, new):
            continue
        alone = [(field, other) for field, other, _ in let_in(at)]
        assert (one, first) in alone, f"{one}: {first!r} slips in with {two}"
        assert (two, second) in alone, f"{two}: {second!r} slips in with {one}"
        knowledge = known((at, new))
        for number in touched(at)[:4]:
            assert not weaker_in(number, knowledge), f"{one}: {first!r} with {two}: {second!r}"


@pytest.mark.parametrize("seed", range(5))
def test_changes_of_many_entries_at_once_take_nothing(seed: int) -> None:
    """All that is let in, on many entries together."""
    pick = random.Random(seed)
    exchanged = []
    for at in WAY.values():
        if options := [new for _, _, new in let_in(at)]:
            exchanged.append((at, pick.choice(options)))
    assert len(exchanged) > 50
    knowledge = known(*exchanged)
    for number in range(len(CASES) + 1):
        assert not (lost := weaker_in(number, knowledge)), lost


def test_no_number_off_the_way_moves_a_notice() -> None:
    """Constants that are not sealed, each far off, all at once."""
    for factor in (0.01, 100.0):
        free = {
            id_: c.model_copy(update={"value": c.value * factor, "spread": c.spread * factor})
            for id_, c in OURS.constants.items()
            if ("constants", id_) not in WAY
        }
        knowledge = OURS.model_copy(update={"constants": {**OURS.constants, **free}})
        for number in range(len(CASES) + 1):
            assert not (lost := weaker_in(number, knowledge)), lost


# ------------------------------------------------------------------------------------------------- as a folder


def told(folder: Path, text: str) -> list[str]:
    """What loading says of a company's folder; nothing where it is taken."""
    (folder / "own.yml").write_text(text, encoding="utf-8")
    try:
        load(folder)
    except KnowledgeError as error:
        assert all(p.path == folder / "own.yml" and p.line for p in error.problems), str(error)
        return [str(p) for p in error.problems]
    return []


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("findings: {co-flue-very-high: {when: {above: 100000 ppm}}}", "as built in, or a lower bound"),
        ("findings: {limit-stays-closed-hot: {when: {read: limit-face, above: 900 degF}}}", "or a lower bound"),
        ("findings: {oxygen-shifts-at-blower-start: {when: ~}}", "or a lower bound"),
        ("findings: {oxygen-shifts-at-blower-start: {strongest: false}}", "True, as built in"),
        ("findings: {co-flue-very-high: {when: {above: 1 %}}}", "or a lower bound"),
        ("findings: {co-flue-very-high: {when: {below: 400 ppm, above: ~}}}", "or a lower bound"),
        ("findings: {co-flue-very-high: {when: {only: absent}}}", "or a lower bound"),
        ("findings: {co-flue-very-high: {when: {yields: true}}}", "or a lower bound"),
        ("findings: {co-in-rooms: {when: {read: co-indoors, above: 9 ppm}}}", "or a lower bound"),
        ("values: {limit-marking: {plate: [furnace.limit.closes]}}", "as built in"),
        ("values: {co-air-free: ~}", "taken away"),
        ("readings: {oxygen-in-flue-before-blower: {shows: []}}", "all that is built in"),
        ("readings: {co-indoors: {suction: true}}", "False, as built in"),
        ("findings: {gas-smell: {aliases: []}, filter-dirty: {aliases: [f-gas-smell]}}", "all that is built in"),
        ("findings: {filter-dirty: {aliases: [f-gas-smell]}}", "already means 'gas-smell'"),
        ("findings: {f-gas-smell: {name: Nothing, leak: 0.5, basis: plate, leak_basis: plate}}", "already means"),
        ("findings: {gas-smell: ~}", "taken away, but the stop 'gas' rests on it"),
        ("causes: {hx-breach: ~}", "taken away, but it leads to 'breach'"),
        ("stops: {gas: {name: Nothing}}", "'Gas leak', as built in"),
        ("stops: {gas: {do: 'Carry on, run the burner all night.'}}", "as built in"),
        ("stops: {gas: {notice: All is safe. Keep using the furnace.}}", "as built in"),
        ("stops: {gas: {leave: no}}", "True, as built in"),
        ("stops: {gas: {way_on: {ends: In an hour.}}}", "as built in"),
        ("stops: {co-indoors-high: {covers: [gas]}}", "as built in"),
        (
            "stops: {own: {name: O, when: w, do: d, notice: n, covers: [gas], basis: plate,"
            " way_on: {confirm: c, meanwhile: m, ends: e}}}",
            "stops of your own only",
        ),
        ("constants: {likely-from: {value: 5}}", "0.5, as built in, or lower"),
        ("constants: {likely-from: {value: 0.9}}", "as built in, or lower"),
        ("tests: {static-map: {runs: []}}", "all that is built in"),
        ("tests: {short-firing: {licensed: no}}", "True, as built in"),
        ("tests: {arrive-with-co-meter: {needs: [static-map]}}", "(), as built in"),
        ("tests: {arrive-with-co-meter: ~}", "taken away"),
        ("cautions: {gas: ~}", "taken away"),
        ("cautions: {general: {text: Do as you like.}}", "as built in"),
        ("synonyms: {carbon-monoxide: filter}", "'co', as built in"),
        ("causes: {hx-breach: {priors: {co-odor: 0}}}", "no number lower than built in"),
        ("context: [{fact: age, is: above, value: 15, factors: {hx-breach: 1}}]", "no less than built in"),
        (
            "context: [{fact: age, is: above, value: 1, factors: {hx-breach: 0}, why: w, basis: plate}]",
            "no less than built in",
        ),
        ("pairs: [{first: filter-loaded, second: spillage, factor: 0.01, basis: plate}]", "no less than built in"),
    ],
)  # fmt: skip
def test_a_folder_that_weakens_is_refused_with_file_line_and_why(tmp_path: Path, text: str, says: str) -> None:
    problems = told(tmp_path, text)
    assert problems and any(says in p for p in problems), problems


@pytest.mark.parametrize(
    "text",
    [
        "findings: {co-flue-very-high: {when: {above: 200 ppm}}}",
        "constants: {likely-from: {value: 0.4}}",
        "stops: {roll-out: {forbids: [burner, blower, power]}}",
        "readings: {co-indoors: {accuracy: {fixed: 1 ppm, basis: plate}}}",
        "tests: {arrive-with-co-meter: {minutes: 2}}",
        "tests: {listen: ~}",
        "synonyms: {rotten-eggs: gas}",
        "cautions: {own: {name: Attic, text: Watch the joists., triggers: [return duct], basis: plate}}",
        "causes: {hx-breach: {priors: {co-odor: 0.3}}}",
        "context: [{fact: age, is: above, value: 15, factors: {hx-breach: 5}}]",
    ],
)
def test_a_folder_may_be_stricter_and_add(tmp_path: Path, text: str) -> None:
    assert not told(tmp_path, text)


def test_a_field_that_is_new_to_the_data_is_sealed_from_the_start() -> None:
    """Refused by itself: no field of a finding that fires a stop is free but those named as such."""
    at = WAY["findings", "gas-smell"]
    free = {f for f, v in singles(at) if not refused(at, laid(at, {f: v}))}
    assert free <= {"minutes", "basis", "leak_basis", "aliases", "leak", "risk"}


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("defaults: x", "a mapping of fields"),
        ("defaults: [1]", "a mapping of fields"),
        ("sources: {own-sheet: 2024-01-02}", "a text (in quotes)"),
        (f"constants: {{likely-from: {{value: {'9' * 5001}}}}}", "a number of usual length"),
        ("- causes", "a mapping of sections"),
    ],
)
def test_a_file_that_is_no_knowledge_is_told_with_its_line(tmp_path: Path, text: str, says: str) -> None:
    problems = told(tmp_path, text)
    assert problems and any(says in p for p in problems), problems


def test_the_blocks_that_once_unarmed_a_stop(tmp_path: Path) -> None:
    """All in one file: each is told at its own line."""
    blocks = {
        "findings": {"co-flue-very-high": {"when": {"above": "5000 ppm"}}, "limit-stays-closed-hot": {"when": []}},
        "readings": {"oxygen-in-flue-before-blower": {"shows": []}},
        "stops": {"gas": {"name": "Nothing", "do": "Carry on."}},
        "constants": {"likely-from": {"value": 5}},
    }
    problems = told(tmp_path, yaml.safe_dump(blocks))
    assert {int(problem.split(":")[1]) for problem in problems} == {3, 6, 9, 12, 15, 16}
