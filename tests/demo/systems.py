"""The house, ducts and furnace behind each demo case, solved with the project's own physics."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from causebook import quantity as qty
from causebook.physics import airpath, fan, furnace
from causebook.physics.air import AirState, air_state
from causebook.quantity import Quantity, q, us

CASES = Path(__file__).parents[2] / "casefiles"
SYSTEMS: dict[str, Any] = yaml.safe_load(Path(__file__).with_name("systems.yml").read_text(encoding="utf-8"))
COMMON = SYSTEMS.pop("common")


@dataclass(frozen=True)
class Solved:
    """What meters would show, in customary US units; temperatures once steady."""

    airflow: float
    taps: Mapping[str, float]
    """[in. w.c.]"""
    drops: Mapping[str, float]
    rooms: float
    return_air: float
    supply_air: float
    rise: float
    limit_body: float
    input: float
    air: AirState


def table(case: str) -> fan.FanTable:
    """The fan table of a case."""
    with (CASES / case / "fan.csv").open(encoding="utf-8", newline="") as file:
        heads, *rows = csv.reader(file)
    statics, *columns = zip(*rows, strict=True)
    return fan.fan_table(
        [q(float(static), "inwc") for static in statics],
        {
            head.removesuffix(" [cfm]"): [q(float(flow), "cfm") for flow in column]
            for head, column in zip(heads[1:], columns, strict=True)
        },
    )


def solve(case: str, state: Mapping[str, Any]) -> Solved:
    """One state of a case's system: the system with what the state says put over it."""
    system = SYSTEMS[case] | state
    parts = SYSTEMS[case]["parts"] | state.get("parts", {})
    share = system.get("recirculation", 0.0)
    rooms = qty.parse(system["rooms"], qty.PROBE_TEMPERATURE)
    elevation = qty.parse(system["elevation"], qty.LENGTH)
    air = air_state(rooms, elevation, q(COMMON["relative humidity"], ""))
    blower = fan.Fan(table(case), system["setting"], system.get("speed", 1.0))
    path = airpath.AirPath(
        tuple(_part(name, parts, share) for name in ("return", "filter")),
        tuple(_part(name, parts, share) for name in ("coil", "supply")),
    )
    point = airpath.solve(path, blower, qty.si(air.density, qty.DENSITY))
    heat = qty.parse(system["input"], qty.HEAT_RATE)
    output = furnace.output(heat, q(system["efficiency"], ""))
    rise = us(furnace.rise(output, point.airflow, air.sensible_factor), qty.TEMPERATURE_DIFFERENCE)
    room = us(rooms, qty.PROBE_TEMPERATURE)
    return_air = room + rise * share / (1 - share)
    return Solved(
        airflow=us(point.airflow, qty.AIRFLOW),
        taps={
            "tap-before-filter": us(point.tap("before filter"), qty.AIR_PRESSURE),
            "tap-after-filter": us(point.tap("after filter"), qty.AIR_PRESSURE),
            "tap-before-coil": us(point.tap("before coil"), qty.AIR_PRESSURE),
            "tap-after-coil": us(point.tap("after coil"), qty.AIR_PRESSURE),
        },
        drops={name: us(point.drop(name), qty.AIR_PRESSURE) for name in parts},
        rooms=room,
        return_air=return_air,
        supply_air=return_air + rise,
        rise=rise,
        limit_body=return_air + COMMON["limit body factor"] * rise,
        input=us(heat, qty.HEAT_RATE),
        air=air,
    )


def warm_up(case: str, state: Mapping[str, Any], opens: Quantity, closes: Quantity, length: Quantity) -> furnace.Run:
    """A call from cold, the exchanger's time constant falling with the airflow; supply air that comes straight back
    warms return and limit along with the rise, and stands as a larger body factor over the rooms."""
    solved = solve(case, state)
    system = SYSTEMS[case] | state
    returned = system.get("recirculation", 0.0) / (1 - system.get("recirculation", 0.0))
    pace = COMMON["time constant at 750 cfm"] * (750 / solved.airflow) ** COMMON["time constant exponent"]
    output = furnace.output(q(solved.input, "btu_it/hour"), q(system["efficiency"], ""))
    made = furnace.warming(
        output,
        q(solved.airflow, "cfm"),
        solved.air.sensible_factor,
        q(solved.rooms, "degF"),
        q(pace, "s"),
        COMMON["limit body factor"] + returned,
        opens,
        closes,
        body_lag=q(COMMON["limit body lag"], "s"),
        on_delay=q(COMMON["blower on delay"], "s"),
    )
    return furnace.run(made, length)


def _part(name: str, parts: Mapping[str, float], share: float) -> airpath.Part:
    """A part by its drop [in. w.c.] at 1000 cfm of standard air; return and supply see only what the house gets."""
    exponent = COMMON["exponents"][name]
    through = (1 - share) ** exponent if name in ("return", "supply") else 1.0
    drop = q(parts[name] * through, "inwc")
    return airpath.part_from_drop(name, drop, q(1000, "cfm"), q(exponent, ""))
