"""What the fuzzer once broke, cut to the smallest case file that did it: each is worked up soundly now."""

from __future__ import annotations

import copy
import sys
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.campaign.fuzz import broken

CALL: dict[str, Any] = {"title": "Found by chance", "complaint": {"family": "short-cycling", "words": "It stops."}}
FOUND: dict[str, dict[str, Any]] = {
    "the plate counts only a coil, and there is none": {
        "furnace": {"kind": "condensing", "input": "100000 Btu/h", "counted as external": ["coil"]},
        "blower": {
            "motor": "constant torque",
            "setting": "high",
            "fan table": {
                "0.7 inH2O": {"high": "870 cfm", "low": "510 cfm"},
                "0.8 inH2O": {"high": "780 cfm", "low": "440 cfm"},
            },
        },
    },
    "the manifold reads nothing, and the input is to be set by it": {
        "complaint": {"family": "low-heat", "words": "Too little heat."},
        "furnace": {"kind": "condensing", "input": "60000 Btu/h", "manifold": "10 inH2O"},
        "step": {"read": {"manifold": "0 inH2O"}},
    },
}


@pytest.mark.parametrize("name", FOUND)
def test_what_once_broke_is_worked_up(name: str, tmp_path: Path) -> None:
    case = {**CALL, **copy.deepcopy(FOUND[name])}
    step = {"do": "Looked at it", **case.pop("step", {})}
    case["visits"] = [{"date": "2024-02-01", "steps": [step]}]
    assert broken(case, tmp_path) == ("", False)
