"""Typing mistakes that no house, furnace or meter could have made: each one message with its line, none a crash."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from causebook import quantity as qty
from causebook.casefile import read_case
from causebook.casefile.possible import bounds, within_of
from causebook.knowledge import Knowledge, load
from causebook.knowledge.bounds import Bounds, read_bounds
from causebook.physics import air, furnace, gas
from causebook.problems import Problem
from causebook.workup import work_up

TABLE = {"0.1 inH2O": {"high": "1400 cfm"}, "0.5 inH2O": {"high": "1200 cfm"}}


def made(**changed: Any) -> dict[str, Any]:
    """A small sound case as plain data, with parts of it changed: `furnace={"output": ...}`, `read={"rise": ...}`."""
    case: dict[str, Any] = {
        "title": "A made case",
        "complaint": {"family": "high-limit", "words": "It stops."},
        "site": {"heating value": "1035 Btu/ft^3", "meter dial": "2 ft^3", "room": "68 degF"},
        "furnace": {"kind": "non-condensing", "input": "80000 Btu/h", "output": "64000 Btu/h", "rise": "35 to 65 degF"},
        "blower": {"motor": "split capacitor", "setting": "high", "speed": "1075 rpm", "fan table": TABLE},
        "filter": {"kind": "pleated", "clean drop": "0.12 inH2O", "at": "1000 cfm"},
        "coil": {"cooling": "3 ton"},
    }
    read = {
        "return air": "68 degF",
        "supply air": "150 degF",
        "tap after filter": "-0.16 inH2O",
        "tap before coil": "0.60 inH2O",
        "meter time": "90 s",
        "motor speed": "900 rpm",
    }
    step = {"do": "Read", "mode": changed.pop("mode", ""), "read": changed.pop("only", read | changed.pop("read", {}))}
    for part, values in changed.items():
        case[part] |= values
    return case | {"visits": [{"date": "2024-02-01", "steps": [step]}]}


def table(*airflow: int) -> dict[str, Any]:
    return {"fan table": {f"0.{row} inH2O": {"high": f"{cfm} cfm"} for row, cfm in enumerate(airflow, 1)}}


# What is typed -> where the message must stand, and words it must hold.
MISTAKES: dict[str, tuple[dict[str, Any], str, str]] = {
    "output times ten": ({"furnace": {"output": "720000 Btu/h"}}, "720000", "is 900 % of the input"),
    "output short of a zero": ({"furnace": {"output": "6400 Btu/h"}}, "6400", "from 30 % to 100 % of the input"),
    "efficiency": ({"furnace": {"efficiency": "25 %"}}, "efficiency", "from 30 % to 100 %"),
    "no input": ({"furnace": {"input": "0 Btu/h"}}, "input", "from 1000 Btu/h"),
    "no plate rise": ({"furnace": {"rise": "0 to 0 degF"}}, "rise", "above 0 degF"),
    "no loss": ({"site": {"design heat loss": "0 Btu/h"}}, "design heat loss", "above 0 Btu/h"),
    "no loss read": ({"read": {"design heat loss": "0 Btu/h"}}, "design heat loss", "above 0 Btu/h"),
    "no rise": ({"only": {"rise": "0 degF"}}, "rise: 0", "from 1 degF"),
    "negative rise": ({"only": {"rise": "-5 degF"}}, "rise: -5", "from 1 degF"),
    "no return section": ({"read": {"smallest return section": "0 in^2"}}, "smallest return", "from 1 in^2"),
    "no supply section": ({"read": {"smallest supply section": "0 in^2"}}, "smallest supply", "from 1 in^2"),
    "no clean drop": ({"filter": {"clean drop": "0 inH2O"}}, "clean drop", "above 0 inH2O"),
    "no airflow of a drop": ({"filter": {"at": "0 cfm"}}, "at: 0", "above 0 cfm"),
    "no drop of a coil": ({"coil": {"clean drop": "0 inH2O"}}, "clean drop: 0", "above 0 inH2O"),
    "no speed": ({"blower": {"speed": "0 rpm"}}, "speed: 0", "above 0 rpm"),
    "a grid airflow of a slipped point": ({"read": {"flow grid airflow": "0.0053 cfm"}}, "flow grid", "from 50 cfm"),
    "an input of a slipped point": ({"only": {"clocked input": "0.003 Btu/h"}}, "clocked input", "from 1000 Btu/h"),
    "return from an oven": ({"read": {"return air": "390 degF"}}, "return air", "meant 39?"),
    "no grid airflow": ({"read": {"flow grid airflow": "0 cfm"}}, "flow grid", "from 50 cfm"),
    "flat fan table": ({"blower": table(1200, 1200)}, "0.2 inH2O", "in every row"),
    "rising fan table": ({"blower": table(800, 1000, 900)}, "0.2 inH2O", "falls while static rises"),
    "long meter time": ({"read": {"meter time": "8000 s"}}, "meter time", "from 1 s to 7200 s"),
    "meter time of a second": ({"read": {"meter time": "1 s"}}, "meter time", "check the time and the `meter dial`"),
    "hot return": ({"read": {"return air": "700 degF"}}, "return air", "to 200 degF"),
    "hot room": ({"site": {"room": "700 degF"}}, "room", "to 200 degF"),
    "poor gas": ({"site": {"heating value": "1 Btu/ft^3"}}, "heating value", "from 30 Btu/ft^3"),
    "negative volts": ({"read": {"volts across limit": "-24 V"}}, "volts across", "from 0 V to 600 V"),
    "no dial": ({"site": {"meter dial": "0 ft^3"}}, "meter dial", "above 0 ft^3"),
    "a decimal comma": ({"read": {"flame current": "0,4 uA"}}, "flame current", "write 0.4"),
    "a decimal comma in a range": ({"furnace": {"rise": "35,5 to 65 degF"}}, "rise", "write 35.5"),
    "more oxygen than air": ({"read": {"oxygen in flue": "80 %"}}, "oxygen in flue", "from 0 % to 21 %"),
    "no manifold on the plate": ({"furnace": {"manifold": "0 inH2O"}}, "manifold", "above 0 inH2O"),
    "no static rating": ({"furnace": {"static maximum": "0 inH2O"}}, "static maximum", "above 0 inH2O"),
}
# What is bad and real, and must be read.
REAL: dict[str, dict[str, Any]] = {
    "nothing through a shut door": {"read": {"room flow open": "50 cfm", "room flow closed": "0 cfm"}},
    "nothing through any door": {"read": {"room flow open": "0 cfm", "room flow closed": "0 cfm"}},
    "a rise in cooling": {"only": {"rise": "-18 degF"}, "mode": "cooling"},
    "a rise of a fan alone": {"only": {"rise": "0 degF"}, "mode": "fan only"},
    "two rows of one airflow": {"blower": table(1400, 1300, 1300, 1100)},
    "a motor that holds its airflow": {"blower": table(1200, 1210, 1205) | {"motor": "constant airflow"}},
    "a motor that holds it well": {"blower": table(1200, 1200) | {"motor": "constant airflow"}},
    "a wheel that stands still": {"read": {"motor speed": "0 rpm"}},
    "no flame": {"read": {"supply air": "68.01 degF"}},
    "a fire on full return heat": {"read": {"return air": "180 degF", "supply air": "300 degF"}},
    "a furnace that loses nothing": {"furnace": {"output": "80000 Btu/h"}},
}


@pytest.fixture(scope="module")
def known() -> Knowledge:
    return load()


def reading(folder: Path, data: dict[str, Any], known: Knowledge) -> tuple[list[str], Any, list[Problem]]:
    """The lines of the case file written for `data`, and what reading it from disk gives."""
    text = yaml.safe_dump(data, sort_keys=False)
    (folder / "made-case").mkdir()
    (folder / "made-case" / "case.yml").write_text(text, encoding="utf-8")
    return (text.splitlines(), *read_case(folder / "made-case", known))


@pytest.mark.parametrize("name", MISTAKES)
def test_what_cannot_be_is_one_message_with_its_line(tmp_path: Path, known: Knowledge, name: str) -> None:
    changed, at, words = MISTAKES[name]
    lines, case, problems = reading(tmp_path, made(**changed), known)
    assert case is None and len(problems) == 1, problems
    assert at in lines[problems[0].line - 1], (problems[0], lines)
    assert words in str(problems[0]) and "expected" in str(problems[0])


@pytest.mark.parametrize("name", REAL)
def test_what_is_bad_and_real_is_read_and_worked_up(tmp_path: Path, known: Knowledge, name: str) -> None:
    _, case, problems = reading(tmp_path, made(**REAL[name]), known)
    assert case is not None, problems
    assert work_up(case, known).verdict.causes


@pytest.mark.parametrize("name", MISTAKES)
def test_no_workup_of_what_was_read_fails(tmp_path: Path, known: Knowledge, name: str) -> None:
    _, case, problems = reading(tmp_path, made(**MISTAKES[name][0]), known)
    assert (case is None) == bool(problems)
    if case is not None:
        work_up(case, known)


def test_many_mistakes_come_out_together(tmp_path: Path, known: Knowledge) -> None:
    data = made(
        furnace={"output": "720000 Btu/h"},
        filter={"at": "0 cfm"},
        blower=table(800, 1000),
        read={"meter time": "8000 s", "return air": "700 degF"},
    )
    _, case, problems = reading(tmp_path, data, known)
    assert case is None and len({problem.line for problem in problems}) == 5


@pytest.mark.parametrize(
    ("ours", "kind", "accepted"),
    [
        (bounds("efficiency"), qty.SHARE, furnace.output.params["efficiency"]),
        (bounds("input"), qty.HEAT_RATE, furnace.output.params["input"]),
        (bounds("dial"), qty.VOLUME, gas.clocked_input.params["dial"]),
        (bounds("gas heating value"), qty.HEATING_VALUE, gas.clocked_input.params["heating_value"]),
        (read_bounds(within_of("meter-time", ""), qty.DURATION), qty.DURATION, gas.clocked_input.params["duration"]),
        (read_bounds(within_of("return-air", ""), qty.TEMPERATURE), qty.TEMPERATURE, air._TEMPERATURE),
    ],
)
def test_bounds_lie_inside_what_the_physics_accepts(ours: Bounds, kind: qty.Kind, accepted: qty.Param) -> None:
    for end in (ours.low + 1e-9 * ours.above, ours.high):
        accepted.read("end", qty.from_si(end, kind))
