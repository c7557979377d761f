"""One start through its stages: what breaks ends it where it stands, what is weak ends it only past its limit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from causebook.equipment.furnace.start.devices import DRAWS, Devices, Draws
from causebook.equipment.furnace.start.sequence import STAGES, Plate, Sound, Start
from causebook.knowledge.loader import load
from causebook.knowledge.model import Knowledge

PLATE = Plate(closes=0.8, opens=0.7)


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    return load()


def start(knowledge: Knowledge, plate: Plate = PLATE, **put: float) -> Start:
    draws = Draws.of((), knowledge)
    return Start(Devices(np.zeros((1, 0), np.float32), draws, as_read=True, put=put), Sound.of(plate), plate)


def ends(of: Start) -> set[str]:
    return {STAGES[int(n)] for n in np.unique(of.ends)}


BROKEN = {
    "line": "power",
    "transformer": "power",
    "fuse": "power",
    "door": "power",
    "thermostat": "call",
    "overflow": "call",
    "limit": "string",
    "joint": "string",
    "rollout": "string",
    "sees-string": "string",
    "rest": "rest",
    "inducer-output": "inducer",
    "inducer": "inducer",
    "hose": "suction",
    "vent": "suction",
    "igniter": "igniter",
    "igniter-output": "igniter",
    "valve": "gas",
    "valve-output": "gas",
    "gas": "gas",
    "ports": "light",
    "film": "sense",
    "bond": "sense",
    "sees-flame": "sense",
    "keeps": "hold",
}


def test_a_sound_furnace_starts_runs_and_offends_nobody(knowledge: Knowledge) -> None:
    sound = start(knowledge)
    assert ends(sound) == {"run"} and float(np.max(sound.offends)) < 0.2
    assert float(np.max(sound.foul)) < 200


@pytest.mark.parametrize(("device", "stage"), BROKEN.items())
def test_a_start_ends_at_the_first_device_that_fails(knowledge: Knowledge, device: str, stage: str) -> None:
    dead = start(knowledge, **{device: 1e-6})
    assert ends(dead) == {stage}
    # What is broken behind it changes nothing; what is broken before it goes first.
    both = start(knowledge, **{device: 1e-6, "igniter": 0.0})
    assert ends(both) == {min(stage, "igniter", key=STAGES.index)}


def test_the_switch_closes_just_over_its_marking_and_not_just_under(knowledge: Knowledge) -> None:
    ratio = float(start(knowledge).sound.suction[0, 0])
    for share, made in ((1.005 / ratio, True), (0.995 / ratio, False)):
        assert bool(start(knowledge, hose=share).made[0, 0]) is made


def test_it_holds_in_the_run_until_the_opening_point(knowledge: Knowledge) -> None:
    """A switch that has closed opens lower than it closed."""
    ratio = float(start(knowledge).sound.suction[0, 0])
    for share, stage in ((1.01 * 0.7 / 0.8 / ratio, "run"), (0.99 * 0.7 / 0.8 / ratio, "hold")):
        assert STAGES[int(start(knowledge, keeps=share).ends[0, 0])] == stage


def test_a_blocked_vent_takes_suction_and_a_vent_off_gives_it_back(knowledge: Knowledge) -> None:
    sound, blocked, off = start(knowledge), start(knowledge, vent=0.3), start(knowledge, vent=3.0)
    assert (blocked.suction < sound.suction).all() and (off.suction > sound.suction).all()


def test_suction_goes_with_the_square_of_the_inducers_speed(knowledge: Knowledge) -> None:
    """Fan laws: pressure goes with the square of the speed."""
    half = start(knowledge, inducer=0.5)
    assert np.allclose(half.suction, 0.25 * start(knowledge).suction)


def test_gas_goes_with_the_root_of_pressure(knowledge: Knowledge) -> None:
    """Orifice flow: half the pressure, 0.707 of the gas."""
    assert np.allclose(start(knowledge, manifold=0.5).rich, 0.5**0.5)


def test_no_manifold_reads_more_than_its_inlet(knowledge: Knowledge) -> None:
    low = start(knowledge, gas=0.3, manifold=1.5)
    assert (low.manifold < low.inlet_at_rest).all()


def test_a_breach_shows_when_the_blower_starts(knowledge: Knowledge) -> None:
    cracked = start(knowledge, breach=0.3)
    assert (cracked.oxygen_blown > cracked.oxygen + 1).all() and (cracked.blown < cracked.current).all()


def test_too_little_air_brings_oxygen_down_and_carbon_monoxide_up(knowledge: Knowledge) -> None:
    sound, starved = start(knowledge), start(knowledge, air=0.75)
    assert (starved.oxygen < sound.oxygen).all() and (starved.monoxide >= sound.monoxide).all()


def test_dead_power_leaves_no_call(knowledge: Knowledge) -> None:
    assert not start(knowledge, transformer=0.0).called.any()


def test_the_volts_follow_the_stage(knowledge: Knowledge) -> None:
    open_ = start(knowledge, limit=0.0)
    assert float(np.min(open_.volts("volts-across-limit"))) > 24
    assert float(np.max(open_.volts("volts-to-common-after-rollout-switch"))) < 0.5
    assert float(np.max(open_.volts("volts-at-gas-valve"))) == 0
    assert float(np.min(start(knowledge).volts("volts-at-gas-valve"))) > 24


def test_a_weak_flame_signal_is_lost_only_below_the_minimum(knowledge: Knowledge) -> None:
    usual = replace(PLATE, flame_usual=3.0)
    for film, stage in ((0.9, "run"), (0.05, "sense")):
        assert ends(start(knowledge, usual, film=film)) == {stage}


def test_draws_of_a_cause_do_not_hang_on_the_list(knowledge: Knowledge) -> None:
    one, two = Draws.of(("rod-dirty",), knowledge), Draws.of(("gas-leak", "rod-dirty"), knowledge)
    assert np.array_equal(one.changes["film"][1][0], two.changes["film"][1][0])
    assert one.there.shape == (1, DRAWS)


def test_every_malfunction_changes_known_devices(knowledge: Knowledge) -> None:
    known = set(BROKEN) | {
        "auxiliary",
        "vent-switch",
        "pipe",
        "manifold",
        "orifice",
        "rod",
        "intake",
        "drain",
        "switch",
    }
    known |= {"air", "breach", "spills", "leaks", "elsewhere"}
    for malfunction in knowledge.malfunctions.values():
        assert malfunction.id in knowledge.causes
        assert {d for way in malfunction.ways for d in way.becomes} <= known
        assert sum(way.share for way in malfunction.ways) == pytest.approx(1)
