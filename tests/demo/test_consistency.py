"""Each demo case's readings against the air path and furnace behind it, within what the instruments can tell.

Tolerances: gauge ±0.01 in. w.c. and its last digit, probes ±0.5 °F and theirs, stopwatch ±0.3 s and the meter's
±0.5 %; common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from systems import CASES, SYSTEMS, solve, table, warm_up

from causebook import quantity as qty
from causebook.casefile.model import Case, CaseStep
from causebook.casefile.read import read_cases
from causebook.knowledge import load
from causebook.physics import combustion, furnace, gas
from causebook.quantity import Quantity, q, us

GAUGE = 0.0151
PROBE = 0.75
TAPS = ("tap-before-filter", "tap-after-filter", "tap-before-coil", "tap-after-coil")


@pytest.fixture(scope="session")
def cases() -> dict[str, Case]:
    """Every demo case, read without a problem."""
    read, problems = read_cases(CASES, load())
    assert not problems, "\n".join(map(str, problems))
    return {case.id: case for case in read}


def test_systems_and_cases_are_the_same_set(cases: dict[str, Case]) -> None:
    """But for cases of a start, in which nobody read the air path."""
    assert set(SYSTEMS) <= set(cases)
    for name in set(cases) - set(SYSTEMS):
        assert not any(tap in _shown(step) for step in cases[name].steps for tap in TAPS), name


def _states() -> Iterator[Any]:
    for case, system in SYSTEMS.items():
        for name, state in system["states"].items():
            yield pytest.param(case, state, id=f"{case}: {name}")


@pytest.mark.parametrize(("name", "state"), list(_states()))
def test_readings_solve_the_system(cases: dict[str, Case], name: str, state: dict[str, Any]) -> None:
    case, solved = cases[name], solve(name, state)
    left = state.get("short of steady", 0.0)
    expected = {
        "supply-air": solved.supply_air + left,
        "return-air": solved.return_air,
        "rooms-mean-temperature": solved.rooms,
        "flow-grid-airflow": solved.airflow,
    }
    expected |= dict(solved.taps)
    allowed = dict.fromkeys(TAPS, GAUGE) | {"flow-grid-airflow": 0.07 * solved.airflow}
    met = 0
    for step in _steps(case, state):
        shown = _shown(step)
        for reading in shown.keys() & expected.keys():
            met += 1
            assert shown[reading] == pytest.approx(expected[reading], abs=allowed.get(reading, PROBE)), reading
        if "meter-time" in shown:
            met += 1
            heat = us(
                gas.clocked_input(case.file.site.meter_dial, q(shown["meter-time"], "s"), case.file.site.heating_value),
                qty.HEAT_RATE,
            )
            assert heat == pytest.approx(solved.input, rel=0.005)
        if step.log:
            met += 1
            _check_log(case, state, step)
        elif "time-to-trip" in shown:
            met += 1
            _check_trip(case, state, shown)
    assert met, "no reading of this state was compared"


def _steps(case: Case, state: dict[str, Any]) -> list[CaseStep]:
    return [case.steps[number - 1] for number in state["steps"]]


def _given(quantity: Quantity | None) -> Quantity:
    assert quantity is not None
    return quantity


def _shown(step: CaseStep) -> dict[str, float]:
    """The readings that count, in customary US units."""
    kinds = load().readings
    return {t.reading: us(t.value, qty.KINDS[kinds[t.reading].kind]) for t in step.readings if not t.void}


def _marked(case: Case) -> float:
    """What the limit is marked to open at [degF]."""
    assert case.file.furnace and case.file.furnace.limit
    return us(case.file.furnace.limit.opens, qty.TEMPERATURE)


def _run(case: Case, state: dict[str, Any], length: float) -> furnace.Run:
    stated = state.get("opens", SYSTEMS[case.id].get("opens"))
    opens = us(qty.parse(stated, qty.TEMPERATURE), qty.TEMPERATURE) if stated else _marked(case)
    return warm_up(case.id, state, q(opens, "degF"), q(opens - 30, "degF"), q(length, "s"))


def _check_log(case: Case, state: dict[str, Any], step: CaseStep) -> None:
    """The log follows the lumped furnace to the first trip, and trips when it does."""
    log = step.log
    assert log is not None
    run = _run(case, state, log.seconds[-1])
    burner = np.array(log.columns["burner"])
    stops = np.flatnonzero(np.diff(burner) < 0)
    first = log.seconds[stops[0]] if len(stops) else log.seconds[-1]
    if "limit" in log.columns:
        assert bool(run.trips) == bool(len(stops)), (run.trips, stops)
    if run.trips:
        assert first == pytest.approx(run.trips[0], abs=15)
    at = np.array([t for t in log.seconds if 60 <= t <= first])
    read = np.interp(at, log.seconds, log.columns["supply-air"])
    model = np.interp(at, run.seconds, (run.supply_si - 273.15) * 1.8 + 32)
    back = SYSTEMS[case.id] | state
    if share := back.get("recirculation", 0.0):
        model = solve(case.id, state).rooms + (model - solve(case.id, state).rooms) / (1 - share)
    assert np.abs(read - model).max() < PROBE
    if "time-to-trip" in _shown(step):
        _check_trip(case, state, _shown(step))


def _check_trip(case: Case, state: dict[str, Any], shown: dict[str, float]) -> None:
    run = _run(case, state, 1800)
    solved = solve(case.id, state)
    assert shown["time-to-trip"] == pytest.approx(run.trips[0], abs=5)
    share = (SYSTEMS[case.id] | state).get("recirculation", 0.0)
    supply = np.interp(run.trips[0], run.seconds, (run.supply_si - 273.15) * 1.8 + 32)
    supply = solved.rooms + (supply - solved.rooms) / (1 - share)
    assert shown["supply-air-at-trip"] == pytest.approx(supply, abs=PROBE)


def test_no_pressure_of_the_air_path_escapes(cases: dict[str, Case]) -> None:
    covered = {
        (name, number)
        for name, system in SYSTEMS.items()
        for state in system["states"].values()
        for number in state["steps"]
    }
    escaped = [
        (case.id, step.number)
        for case in cases.values()
        for step in case.steps
        if _shown(step).keys() & set(TAPS)
        and step.seen.get("ice-on-coil") != "yes"
        and (case.id, step.number) not in covered
    ]
    assert not escaped


def test_flue_gas_is_that_of_a_burner(cases: dict[str, Case]) -> None:
    """Oxygen of an induced-draft burner, and a stack whose loss leaves the efficiency the case is built on."""
    for case in cases.values():
        for step in case.steps:
            shown = _shown(step)
            if "oxygen-in-flue" in shown:
                assert 3 < shown["oxygen-in-flue"] < 11, (case.id, step.number)
            if "stack" in shown:
                efficiency = us(
                    combustion.combustion_efficiency(
                        q(shown["stack"], "degF"), q(shown["oxygen-in-flue"], "percent_"), case.file.site.room
                    ),
                    qty.RATIO,
                )
                assert efficiency == pytest.approx(_efficiency(case.id, step.number), abs=0.015), (case.id, step.number)


def _efficiency(name: str, number: int) -> float:
    state = next(s for s in SYSTEMS[name]["states"].values() if number in s["steps"])
    return float((SYSTEMS[name] | state)["efficiency"])


def test_limits_open_where_the_system_says(cases: dict[str, Case]) -> None:
    for case in cases.values():
        for step in case.steps:
            if "limit-opened-at" in (shown := _shown(step)):
                marked = _marked(case)
                found = [s.get("opens", SYSTEMS[case.id].get("opens")) for s in SYSTEMS[case.id]["states"].values()]
                real = [us(qty.parse(text, qty.TEMPERATURE), qty.TEMPERATURE) if text else marked for text in found]
                assert min(abs(shown["limit-opened-at"] - opens) for opens in real) <= 3, (case.id, step.number)


def test_fan_tables_fall_with_static() -> None:
    for case in SYSTEMS:
        for setting, curve in table(case).curves.items():
            assert np.all(np.diff(curve.flows) < 0), (case, setting)


def test_shut_room_passes_what_its_pressure_leaves(cases: dict[str, Case]) -> None:
    """A branch gives air with the root of its push less the room's pressure (orifice law)."""
    room = SYSTEMS["cold-corner-room"]["room"]
    push = us(qty.parse(room["push"], qty.ROOM_PRESSURE), qty.ROOM_PRESSURE)
    met = 0
    shown: dict[str, float] = {}
    for step in cases["cold-corner-room"].steps:
        shown |= _shown(step)
        if "room-flow-closed" in _shown(step):
            met += 1
            closed = shown["room-flow-open"] * (1 - shown["room-pressure"] / push) ** 0.5
            assert shown["room-flow-closed"] == pytest.approx(closed, rel=0.03)
    assert met == 3


def test_gas_line_costs_the_pressure_that_was_read(cases: dict[str, Case]) -> None:
    """The low-pressure equation of the fuel gas code for the line, with the furnace alone and with everything on."""
    line = SYSTEMS["evening-gas"]["gas line"]
    heating_value = us(_given(cases["evening-gas"].file.site.heating_value), qty.HEATING_VALUE)
    furnace_input = us(qty.parse(SYSTEMS["evening-gas"]["input"], qty.HEAT_RATE), qty.HEAT_RATE)
    others = us(qty.parse(line["others"], qty.HEAT_RATE), qty.HEAT_RATE)
    rest = us(qty.parse(line["at rest"], qty.GAS_PRESSURE), qty.GAS_PRESSURE)

    def inlet(diameter: str, heat: float) -> float:
        # Q^0.381 = 19.17 D (drop / (0.6094 L))^0.206; in., ft, in. w.c., ft³/h (NFPA 54 / IFGC 402.4, from memory)
        inches = us(qty.parse(line[diameter], qty.SMALL_LENGTH), qty.SMALL_LENGTH)
        feet = us(qty.parse(line["length"], qty.LENGTH), qty.LENGTH)
        return rest - 0.6094 * feet * ((heat / heating_value) ** 0.381 / (19.17 * inches)) ** (1 / 0.206)

    steps = [_shown(step) for step in cases["evening-gas"].steps]
    assert steps[1]["gas-inlet"] == pytest.approx(inlet("inside diameter", furnace_input), abs=0.1)
    assert steps[2]["gas-inlet-all-on"] == pytest.approx(inlet("inside diameter", furnace_input + others), abs=0.1)
    assert steps[4]["gas-inlet-all-on"] == pytest.approx(inlet("renewed", furnace_input + others), abs=0.1)


def test_heat_loss_by_run_time_agrees_with_the_stated_one(cases: dict[str, Case]) -> None:
    """Output times the share of the hour, over the temperature difference, carried to the design temperature."""
    case = cases["short-calls"]
    site = case.file.site
    stated = next(t.value for step in case.steps for t in step.readings if t.reading == "design-heat-loss")
    out = us(qty.parse(SYSTEMS["short-calls"]["input"], qty.HEAT_RATE), qty.HEAT_RATE) * 0.80
    room, outdoors, design = (us(_given(t), qty.TEMPERATURE) for t in (site.room, site.outdoors, site.design_outdoors))
    loss = out * us(_given(site.run_share), qty.SHARE) / 100 / (room - outdoors) * (room - design)
    assert us(stated, qty.HEAT_RATE) == pytest.approx(loss, rel=0.05)
