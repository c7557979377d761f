"""Readings of a case for its pictures, so that a picture cannot differ from its case."""

from __future__ import annotations

import functools
import re
from pathlib import Path
from typing import Any

import yaml

CASES = Path(__file__).parents[1]


@functools.cache
def _case(name: str) -> Any:
    return yaml.safe_load((CASES / name / "case.yml").read_text(encoding="utf-8"))


def steps(case: str) -> list[dict[str, Any]]:
    """Every step of a case in order."""
    return [step for visit in _case(case)["visits"] for step in visit["steps"]]


def shown(case: str, step: int, reading: str) -> str:
    """A reading as written in the case, units in the words a meter's user would say; steps count from 1."""
    value = steps(case)[step - 1]["read"][reading]
    text = str(value["value"] if isinstance(value, dict) else value)
    return text.replace("inH2O", "in. w.c.").replace("degF", "°F").replace("-", "−")


def figure(case: str, step: int, reading: str) -> float:
    """The same as a bare number."""
    found = re.search(r"[-−]?\d+(?:\.\d+)?", shown(case, step, reading))
    if not found:
        raise ValueError(f"{case} step {step}: {reading} holds no number")
    return float(found.group().replace("−", "-"))


def tap(case: str, step: int, reading: str) -> str:
    """A pressure with its sign, for the cutaways."""
    return f"{figure(case, step, reading):+.2f} in. w.c.".replace("-", "−")
