"""Case files made at random: of the schema and the knowledge, and of the demo with parts of it changed.

Every one follows from its number alone, so that a failure is made again by `python -m tests.campaign.fuzz --only N`.
"""

from __future__ import annotations

import copy
import math
import random
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import yaml

from causebook import quantity as qty
from causebook.casefile.possible import within_of
from causebook.knowledge import load
from causebook.knowledge.bounds import read_bounds
from causebook.quantity import Kind
from causebook.sizing.forms import FORMS

KNOWN = load()
DEMO = Path(__file__).parents[2] / "casefiles"
ODD: tuple[Any, ...] = (
    None,
    "",
    " ",
    "yes",
    "no",
    "0",
    "-1",
    "1e999",
    "nan",
    "inf",
    "-inf",
    "9" * 400,
    "1e-300 V",
    "0 degF",
    "146",
    "146 furlong",
    "🔥 漢字 العربية",
    "a\u202eb",
    "x" * 999,
    "{{7*7}}",
    "<script>alert(1)</script>",
    "../../etc/passwd",
    "2024-02-30",
    "9999-12-31",
    [],
    {},
    [[]],
    ["a", {"b": "c"}],
    {"value": "1 V"},
    {"a": {"a": {"a": "a"}}},
    True,
    0,
    -3.5,
    1e308,
)
"""What may stand where something else belongs."""
TEXTS = (
    "Looked at it",
    "Read it again",
    "🔥 Watched three calls",
    "Mesuré à l'entrée",
    "`code` *and* [a](b)",
    "50 % < 60 %",
)


def number(rng: random.Random, words: str, kind: Kind) -> str:
    """A value inside bounds, often at or near their ends, as an author would type it."""
    limits = read_bounds(words, kind)
    low = limits.low
    high = limits.high if math.isfinite(limits.high) else max(10 * abs(low), 1e6)
    pick = rng.random()
    if pick < 0.08:
        value = low + (high - low) * 1e-9 if limits.above else low
    elif pick < 0.16:
        value = high
    elif pick < 0.3 and low >= 0:
        value = math.exp(rng.uniform(math.log(max(low, high * 1e-9)), math.log(high)))
    else:
        value = rng.uniform(low, high)
    value = min(max(value, math.nextafter(low, high) if limits.above else low), high)
    if not kind.si:
        return f"{100 * value:.9g} %" if kind.name != "ratio" else f"{value:.9g}"
    unit = "delta_degC" if kind.difference and kind.si == "K" else kind.si
    return f"{value:.12g} {unit}"


def reading(rng: random.Random, name: str, mode: str) -> str:
    """A value of a reading: mostly what is plausible, now and then anything that can be."""
    kind = qty.KINDS[KNOWN.readings[name].kind]
    range_ = KNOWN.ranges.get(name)
    by_mode: Mapping[str, str] = (range_.plausible if range_ and rng.random() < 0.8 else {}) or {}
    words = by_mode.get(mode or "heating") or by_mode.get("any") or within_of(name, mode)
    if not words:
        bound = KNOWN.bounds.get(kind.name.replace(" ", "-").lower())
        words = bound.possible if bound else "0 degF to 100 degF"
    return number(rng, words, kind)


def bounded(rng: random.Random, name: str) -> str:
    """A value of a key of the case file, by the name of its bounds."""
    bound = KNOWN.bounds[name.replace(" ", "-").lower()]
    return number(rng, bound.possible, qty.KINDS[bound.kind])


def valid(rng: random.Random) -> dict[str, Any]:
    """A case file in which every word is known and every number possible."""

    def maybe() -> bool:
        return rng.random() < 0.5

    case: dict[str, Any] = {
        "title": rng.choice(TEXTS),
        "complaint": {"family": rng.choice(list(KNOWN.families)), "words": rng.choice(TEXTS)},
    }
    if maybe():
        case["site"] = {"elevation": f"{rng.choice([0, 700, 5500, 9000])} ft", "room": "70 degF"}
        if maybe():
            case["site"] |= {"heating value": "1030 Btu/ft^3", "meter dial": "2 ft^3"}
        if maybe():
            case["site"]["design heat loss"] = bounded(rng, "output")
    if rng.random() < 0.8:
        put_in = rng.choice([40000, 60000, 80000, 100000, 120000])
        case["furnace"] = {"kind": rng.choice(["non-condensing", "condensing"]), "input": f"{put_in} Btu/h"}
        plate = {
            "output": f"{0.8 * put_in:.0f} Btu/h",
            "rise": rng.choice(["35 to 65 degF", "1 to 2 degF", "20 to 240 degF"]),
            "static maximum": rng.choice(["0.5 inH2O", "0.0001 inH2O", "5 inH2O"]),
            "counted as external": rng.sample(["return", "filter", "inlet", "coil", "supply"], rng.randint(1, 5)),
            "manifold": rng.choice(["3.5 inH2O", "10 inH2O", "0.01 inH2O"]),
            "limit": {"opens": rng.choice(["190 degF", "120 degF", "3000 degF", "-100 degF"])},
            "pressure switch": {"closes": "0.72 inH2O"},
            "flame current minimum": "0.8 uA",
            "blower on delay": "30 s",
            "stages": rng.choice([1, 2]),
        }
        case["furnace"] |= {key: value for key, value in plate.items() if maybe()}
    if maybe():
        case["blower"] = {"motor": rng.choice(["split capacitor", "constant torque", "constant airflow"])}
        if maybe():
            case["blower"] |= {
                "setting": "high",
                "fan table": {
                    f"0.{n} inH2O": {"high": f"{1500 - 90 * n} cfm", "low": f"{1000 - 70 * n} cfm"} for n in range(1, 9)
                },
            }
        if maybe():
            case["blower"] |= {"capacitor": "7.5 uF", "full load": "6.8 A", "speed": "1075 rpm"}
    if maybe():
        case["coil"] = rng.choice(
            [{"cooling": "3 ton"}, {"none": True}, {"cooling": "3 ton", "clean drop": "0.2 inH2O", "at": "1200 cfm"}]
        )
    if maybe():
        case["filter"] = {"kind": "pleated", "size": "16 x 25 x 1 in"}
    if maybe():
        case["return"] = [{"what": "Drop", "size": rng.choice(["14 x 8 in", "6 in round", "900 in^2"])}]
    steps = [step(rng) for _ in range(rng.choice([1, 1, 1, 2, 2, 3]))]
    visit: dict[str, Any] = {"date": "2024-02-01", "steps": steps}
    if maybe():
        visit["concluded"] = {"root": {rng.choice(list(KNOWN.causes)): "not tested, job note only"}}
    if rng.random() < 0.3:
        visit["options"] = [{"name": "One", "change": change(rng)}]
    case["visits"] = [visit]
    return case


def step(rng: random.Random) -> dict[str, Any]:
    """A step with readings, findings and states of the knowledge."""
    mode = rng.choice(["", "", "", "heating", "low fire", "cooling", "fan only"])
    made: dict[str, Any] = {"do": rng.choice(TEXTS)}
    if mode:
        made["mode"] = mode
    names = rng.sample(list(KNOWN.readings), rng.choice([0, 1, 2, 4, 8]))
    if rng.random() < 0.5:
        names += ["supply-air", "return-air"]
    made["read"] = {name: reading(rng, name, "heating" if mode == "low fire" else mode) for name in names}
    seen = rng.sample(list(KNOWN.findings), rng.choice([0, 1, 3, 6]))
    made["seen"] = {name: rng.choice(["yes", "no", "unclear"]) for name in seen}
    if rng.random() < 0.3:
        part = rng.choice(list(KNOWN.states.values()))
        made["with"] = {part.id: rng.choice(list(part.words))}
    if rng.random() < 0.2:
        made["changed"] = {rng.choice(list(KNOWN.components)): "new"}
    if rng.random() < 0.15:
        made["after"] = rng.choice(["repair", "follow-up"])
    return {key: value for key, value in made.items() if value}


def change(rng: random.Random) -> dict[str, Any]:
    """A change of an option, well formed or not."""
    forms: list[dict[str, Any]] = [
        {"filter": "removed"},
        {"filter": {"kind": "pleated", "size": "20 x 25 x 4 in"}},
        {"filter": {"clean drop": bounded(rng, "rating of pressure"), "at": bounded(rng, "new airflow")}},
        {"furnace": {"airflow": rng.choice(["0 cfm", "1000 cfm", "0.5 cfm"])}},
        {"furnace": {"input": bounded(rng, "input"), "efficiency": "95 %", "rise": "35 to 65 degF"}},
        {"coil": "clean"},
        {"blower": rng.choice(["medium", "high", "one step up"])},
        {rng.choice(list(FORMS)): rng.choice([text for text in ODD if isinstance(text, str)])},
    ]
    return rng.choice(forms)


# ---------------------------------------------------------------- the demo, changed


def demo() -> tuple[dict[str, Any], ...]:
    """The demo as plain data, every scalar as its author wrote it."""
    return tuple(
        yaml.load(path.read_text(encoding="utf-8"), Loader=yaml.BaseLoader) for path in sorted(DEMO.glob("*/case.yml"))
    )


def places(data: Any, at: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """The way to everything in a tree."""
    inner = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    return [place for key, value in inner for place in ((*at, key), *places(value, (*at, key)))]


def mutated(rng: random.Random, case: dict[str, Any], odd: bool) -> dict[str, Any]:
    """A case file with one to three things taken away, doubled, moved or replaced; `odd`: by what does not belong."""
    case = copy.deepcopy(case)
    for _ in range(rng.randint(1, 3)):
        every = places(case)
        if not every:
            return case
        *way, key = rng.choice(every)
        inside: Any = case
        for part in way:
            inside = inside[part]
        how = rng.random()
        if how < 0.3:
            del inside[key]
        elif how < 0.4 and isinstance(inside, list):
            inside.append(copy.deepcopy(inside[key]))
        elif how < 0.5 and isinstance(inside, dict):
            inside[f"{key}{rng.choice(['', ' ', 's', '-2'])}"] = inside.pop(key)
        elif odd:
            inside[key] = copy.deepcopy(rng.choice(ODD))
        elif isinstance(inside[key], str) and str(key).replace(" ", "-") in KNOWN.readings:
            inside[key] = reading(rng, str(key).replace(" ", "-"), "")
        elif isinstance(inside[key], str) and inside[key] in ("yes", "no", "unclear"):
            inside[key] = rng.choice(["yes", "no", "unclear"])
    return case


def made(seed: int, number: int, demos: tuple[dict[str, Any], ...]) -> tuple[str, dict[str, Any]]:
    """The sort and the data of one example of the campaign."""
    rng = random.Random(f"{seed}:{number}")
    sort = rng.choices(("structure", "values", "valid"), (3, 3, 4))[0]
    if sort == "valid":
        return sort, valid(rng)
    small = rng.choice(demos) if rng.random() < 0.25 else valid(rng)
    return sort, mutated(rng, small, odd=sort == "structure")
