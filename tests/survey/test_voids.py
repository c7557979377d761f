"""One vocabulary of states, and every rule for bad readings fires in a case that can be written."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from causebook import quantity as qty
from causebook.casefile import read_case
from causebook.casefile.possible import within_of
from causebook.knowledge import load
from causebook.knowledge.bounds import read_bounds
from causebook.survey.survey import survey

KNOWN = load()
BY_STATE = [(void.id, part, state) for void in KNOWN.voids.values() for part, state in void.states.items()]
BY_FINDING = [(void.id, finding) for void in KNOWN.voids.values() for finding in void.findings]


def worked(folder: Path, step: dict[str, object]):
    case = folder / "a-void"
    case.mkdir(exist_ok=True)
    data = {
        "title": "A void",
        "complaint": {"family": "high-limit", "words": "It stops."},
        "visits": [{"date": "2024-02-01", "steps": [{"do": "Read", **step}]}],
    }
    (case / "case.yml").write_text(yaml.safe_dump(data, sort_keys=False), encoding="utf-8")
    case_, problems = read_case(case, KNOWN)
    assert case_ is not None, problems
    return survey(case_, KNOWN)


def typed(reading: str) -> str:
    """A plausible value of a reading as an author would type it."""
    kind = qty.KINDS[KNOWN.readings[reading].kind]
    range_ = KNOWN.ranges.get(reading)
    words = (range_.plausible.get("heating") or range_.plausible.get("any")) if range_ else None
    words = words or within_of(reading, "") or KNOWN.bounds[kind.name.replace(" ", "-").lower()].possible
    limits = read_bounds(words, kind)
    tap = KNOWN.readings[reading].tap
    share = 0.4 if tap is None else 0.3 if tap <= 4 else 0.7  # suction before the wheel, pressure after it
    number = limits.low + share * (limits.high - limits.low)
    return f"{number} {kind.si}" if kind.si else f"{100 * number} %"


def struck_by(void: str, folder: Path, fires: dict[str, object]) -> set[str]:
    """Of everything that a rule strikes, what it did strike when it was fired, and nothing of it when it was not."""
    out: set[str] = set()
    for name in KNOWN.voids[void].strikes:
        key, value = ("read", typed(name)) if name in KNOWN.readings else ("seen", "no")
        plain: dict[str, object] = {key: {name: value}}
        quiet, loud = worked(folder, plain), worked(folder, _merged(plain, fires))
        for found, kept in ((quiet, False), (loud, True)):
            rules = {v.rule for v in found.voided} | {look.rule for look in found.struck_looks}
            assert (void in rules) is kept, (name, rules)
        out.add(name)
    return out


def _merged(one: dict[str, object], other: dict[str, object]) -> dict[str, object]:
    both = dict(one)
    for key, value in other.items():
        both[key] = {**both.get(key, {}), **value}
    return both


@pytest.mark.parametrize(("void", "part", "state"), BY_STATE, ids=[f"{v}-{p}" for v, p, _ in BY_STATE])
def test_every_state_that_spoils_a_reading_can_be_written_and_strikes_it(
    tmp_path: Path, void: str, part: str, state: str
) -> None:
    fires: dict[str, object] = {"with": {part.replace("-", " "): f"{state} for a minute"}}
    assert struck_by(void, tmp_path, fires) == set(KNOWN.voids[void].strikes)


@pytest.mark.parametrize(("void", "finding"), BY_FINDING, ids=[v for v, _ in BY_FINDING])
def test_every_finding_that_spoils_a_reading_strikes_it(tmp_path: Path, void: str, finding: str) -> None:
    assert struck_by(void, tmp_path, {"seen": {finding: "yes"}}) == set(KNOWN.voids[void].strikes)


def test_every_rule_can_fire_and_strikes_only_what_is_read_or_seen() -> None:
    for void in KNOWN.voids.values():
        assert void.states or void.findings, void.id
        assert all(name in KNOWN.readings or not KNOWN.findings[name].computed for name in void.strikes), void.id


def test_a_state_of_the_reading_leaves_the_furnace_as_found(tmp_path: Path) -> None:
    found = worked(tmp_path, {"read": {"line volts": "120 V"}, "with": {"panel": "off"}})
    assert [s.phase for s in found.sets] == ["found"]
    changed = worked(tmp_path, {"read": {"line volts": "120 V"}, "with": {"filter": "out"}})
    assert [s.phase for s in changed.sets] == ["changed"]


def test_a_look_that_does_not_count_is_kept_with_its_reason(tmp_path: Path) -> None:
    found = worked(tmp_path, {"seen": {"coil matted": "no"}, "with": {"coil seen": "from above"}})
    assert found.finding("coil-matted") is None and found.struck_looks[0].why
    assert worked(tmp_path, {"seen": {"coil matted": "no"}}).finding("coil-matted") is not None


def test_every_synonym_means_one_state() -> None:
    for part in KNOWN.states.values():
        spellings = [word for word, others in part.words.items() for word in (word, *others)]
        assert len(spellings) == len(set(spellings)), part.id
        assert set(part.as_found) <= set(part.words), part.id
