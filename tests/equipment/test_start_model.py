"""Whole records: what is proven stands, a no ousts no yes, experiments and the board's memory are read."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml

from causebook.casefile.model import Case
from causebook.casefile.read import read_case
from causebook.diagnosis import Diagnosis, diagnose
from causebook.equipment.furnace.start.model import Weighed
from causebook.knowledge.loader import load
from causebook.knowledge.model import Knowledge

STARTS = Path(__file__).parent / "starts"
MakeRecord = Callable[..., Diagnosis]

EXPLAINS = {
    "open-limit-read": {"limit-weak", "limit-wiring"},
    "memory-says-limit": {"limit-wiring"},
    "vent-end-blocked": {"vent-blocked"},
    "switch-open-read": {"ps-or-hose", "vent-blocked", "vent-wrong", "inducer-weak"},
    "vent-off-cures": {"vent-blocked", "vent-wrong"},
    "gas-flows": {"burner-dirty", "rod-dirty", "comb-air-starved", "ground-poor"},
    "dead-transformer": {"low-voltage-open"},
}
"""Record -> what explains it."""
DISPROVED = {
    "gas-flows": {"gas-valve-no-open", "igniter-open", "low-voltage-open", "line-power-off"},
    "dead-transformer": {"line-power-off"},
    "open-limit-read": {"line-power-off", "low-voltage-open"},
    "switch-open-read": {"other-safety-open", "line-power-off", "low-voltage-open", "ground-poor"},
}


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    return load()


def diagnosed(case: Case, knowledge: Knowledge) -> tuple[Diagnosis, Weighed]:
    told = diagnose(case, knowledge, show_steps=False)
    assert isinstance(told.posterior.followed, Weighed)
    return told, told.posterior.followed


def first(told: Diagnosis, knowledge: Knowledge) -> str:
    named = [c for c in told.verdict.causes if not knowledge.causes[c.id].residual]
    return max(named, key=lambda c: c.root_chance + c.restores_chance).id


@pytest.fixture
def record(tmp_path: Path, knowledge: Knowledge) -> Callable[..., tuple[Diagnosis, Weighed]]:
    """A record from steps, with a usual plate."""

    def make(*steps: dict[str, Any], family: str = "no-ignition") -> tuple[Diagnosis, Weighed]:
        home = tmp_path / f"case-{len(list(tmp_path.iterdir()))}"
        home.mkdir()
        plate = {
            "kind": "condensing",
            "input": "80000 Btu/h",
            "manifold": "3.5 inH2O",
            "inlet range": "4.5 to 10.5 inH2O",
            "pressure switch": {"closes": "-0.80 inH2O", "opens": "-0.70 inH2O"},
            "flame current minimum": "0.5 µA",
        }
        whole = {
            "title": "a start",
            "complaint": {"family": family, "words": "No heat."},
            "furnace": plate,
            "visits": [{"date": "2026-01-10", "steps": [{"do": "looked", **step} for step in steps]}],
        }
        (home / "case.yml").write_text(yaml.safe_dump(whole, allow_unicode=True), encoding="utf-8")
        case, problems = read_case(home, knowledge)
        assert case is not None, problems
        return diagnosed(case, knowledge)

    return make


@pytest.mark.parametrize("name", sorted(EXPLAINS))
def test_what_is_proven_stands(name: str, knowledge: Knowledge) -> None:
    case, problems = read_case(STARTS / name, knowledge)
    assert case is not None and not [p for p in problems if p.line == 0]
    told, weighed = diagnosed(case, knowledge)
    assert first(told, knowledge) in EXPLAINS[name]
    assert DISPROVED.get(name, set()) <= weighed.disproved.keys()
    assert not weighed.disproved.keys() & EXPLAINS[name]
    assert all(told.posterior.marginal[cause] == 0 for cause in weighed.disproved)


@pytest.mark.parametrize(("volts", "clears"), [(15.1, True), (14.9, False)])
def test_volts_prove_a_call_from_a_limit_on(record: Any, volts: float, clears: bool) -> None:
    told = record({"read": {"call volts": f"{volts} V"}}, {"seen": {"happens intermittently": "no"}})[1]
    assert ("low-voltage-open" in told.disproved) is clears


@pytest.mark.parametrize(("suction", "proven"), [(0.83, True), (0.81, False)])
def test_suction_proves_from_a_limit_on(record: Any, suction: float, proven: bool) -> None:
    told = record({"read": {"suction at start": f"-{suction} inH2O"}})[1]
    assert any("suction enough" in p.says for p in told.kept) is proven


def test_a_no_ousts_no_yes(record: Any, knowledge: Knowledge) -> None:
    yes = {"no flame after ignition": "yes"}
    told = record({"seen": yes}, {"read": {"gas inlet at rest": "7.1 inH2O"}})[0]
    more = record(
        {"seen": yes | {"no ignition after inducer": "no", "nothing starts": "no"}},
        {"read": {"gas inlet at rest": "7.1 inH2O"}},
    )[0]
    assert first(told, knowledge) == first(more, knowledge)
    cause = first(told, knowledge)
    assert more.posterior.marginal[cause] >= 0.9 * told.posterior.marginal[cause]


def test_the_family_shifts_the_odds_only_a_little(record: Any, knowledge: Knowledge) -> None:
    steps = (
        {"seen": {"no ignition after inducer": "yes"}},
        {"read": {"igniter resistance": "9 Mohm", "igniter volts": "119 V"}},
    )
    for family in ("no-ignition", "pressure-switch", "flame-lost"):
        told = record(*steps, family=family)[0]
        assert first(told, knowledge) == "igniter-open" and told.posterior.marginal["igniter-open"] > 0.9


@pytest.mark.parametrize(
    ("told", "group"),
    [
        ("Memory: pressure switch open", "switch-open"),
        ("Memory: pressure switch closed before the start", "switch-closed"),
        ("Memory: limit or rollout open", "limit-open"),
        ("Memory: ignition failed, three retries", "no-light"),
        ("Memory: flame lost in the run", "flame-lost"),
    ],
)
def test_the_memory_is_read_by_the_group_of_its_message(record: Any, told: str, group: str) -> None:
    assert record({"told": told})[1].record.memory == {group}


def test_a_call_made_at_the_board_in_vain_clears_the_thermostat_and_nothing_else(record: Any) -> None:
    step = {"do": "Call made at the board", "with": {"thermostat": "bridged"}, "told": "nothing"}
    vain = record({"seen": {"happens intermittently": "no", "nothing starts": "yes"}}, step)[1]
    assert set(vain.disproved) == {"thermostat-fault"}


def test_a_vent_off_that_cures_points_at_the_vent(record: Any, knowledge: Knowledge) -> None:
    weak = {"read": {"suction at start": "-0.52 inH2O"}}
    off = {
        "do": "Vent off",
        "with": {"vent": "disconnected"},
        "read": {"suction at start": "-1.3 inH2O"},
        "told": "starts",
    }
    same = off | {"read": {"suction at start": "-0.56 inH2O"}, "told": "no change"}
    vent = {"vent-blocked", "vent-wrong"}
    cured, not_cured = record(weak, off)[0], record(weak, same)[0]
    assert first(cured, knowledge) in vent and first(not_cured, knowledge) not in vent


def test_shares_are_in_proportion_and_what_never_was_asked_wins_none(record: Any) -> None:
    weighed = record(
        {"read": {"volts across limit": "26.4 V", "igniter resistance": "9 Mohm"}},
        {"seen": {"no ignition after inducer": "yes"}},
    )[1]
    wanted = np.isin(weighed.sets.causes, ["limit-wiring", "igniter-open"]).astype(float)
    place = int(np.flatnonzero((weighed.sets.members == wanted).all(axis=1))[0])
    repairs = weighed.repairs(place)
    assert sum(r.share for r in repairs.values()) == pytest.approx(1)
    assert repairs["limit-wiring"].share > 0.9 and repairs["igniter-open"].share < 0.1
    assert "igniter" in repairs["limit-wiring"].says or "glow" in repairs["limit-wiring"].says


def test_a_reading_is_foreseen_as_the_set_would_show_it(record: Any) -> None:
    weighed = record({"seen": {"no ignition after inducer": "yes"}})[1]

    def place(*causes: str) -> int:
        wanted = np.isin(weighed.sets.causes, causes).astype(float)
        return int(np.flatnonzero((weighed.sets.members == wanted).all(axis=1))[0])

    whole = weighed.foresee("igniter-resistance", place("igniter-no-supply"))
    broken = weighed.foresee("igniter-resistance", place("igniter-open"))
    assert whole is not None and broken is not None and np.median(whole) < 1000 < np.median(broken)
    assert weighed.foresee("supply-air", place("igniter-open")) is None
    chance = weighed.foresee_finding("igniter-open-circuit", place("igniter-open"))
    assert chance is not None and chance > 0.9


def test_expected_stands_beside_read(record: Any) -> None:
    weighed = record({"read": {"suction at start": "-0.45 inH2O", "volts across pressure switch": "26.3 V"}})[1]
    by = {(e.cause, e.reading): e for e in weighed.expected(["inducer-weak", "igniter-open"])}
    assert by["inducer-weak", "suction-at-start"].fits
    assert not by["igniter-open", "suction-at-start"].fits
    assert not by["igniter-open", "volts-across-pressure-switch"].fits


def test_nothing_that_needs_a_flame_is_proposed_where_there_can_be_none(record: Any) -> None:
    told = record(
        {"read": {"co indoors": "0 ppm", "co outdoors": "0 ppm"}, "seen": {"gas smell": "no"}},
        {"seen": {"no ignition after inducer": "yes"}, "read": {"igniter volts": "119 V"}},
    )[0]
    proposed = {t.id for t in told.verdict.next_tests}
    assert proposed and not proposed & {"flame-current-test", "bond-test", "clock-gas", "first-fire"}


def test_the_same_record_gives_the_same_numbers_in_any_order(record: Any) -> None:
    steps = (
        {"read": {"line volts": "120 V"}},
        {"read": {"call volts": "26 V"}},
        {"seen": {"inducer stays still": "yes"}},
    )
    one, other = record(*steps)[0], record(*reversed(steps))[0]
    assert one.posterior.marginal == other.posterior.marginal
