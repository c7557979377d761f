"""As much of the trade's knowledge as the tests of the reader need, made by hand."""

from __future__ import annotations

from typing import Any

from causebook.knowledge import load
from causebook.knowledge.model import Accuracy, Basis, Cause, Effect, Family, Finding, Knowledge, Reading, slug

ESTIMATE = Basis(kind="expert estimate")
_TAPS = {"tap before filter": 2, "tap after filter": 3, "blower box": 4, "tap before coil": 5, "tap after coil": 6}
_READINGS = {
    **dict.fromkeys(_TAPS, "air pressure"),
    **dict.fromkeys(("supply air", "supply air at trip", "return air", "limit opened at"), "probe temperature"),
    **dict.fromkeys(("co outdoors", "co indoors", "co in flue"), "CO fraction"),
    "oxygen in flue": "gas fraction",
    "rise": "temperature difference",
    "time to trip": "long duration",
    "meter time": "duration",
    "manifold": "gas pressure",
    "motor amps": "current",
}
_FINDINGS = (
    "gas smell",
    "limit fault stored",
    "filter dirty",
    "filter fine and thin",
    "registers closed",
    "wheel dirty",
    "limit opened while watched",
    "burner off with blower on",
    "flame moves when blower starts",
)
_CAUSES = {
    "return-undersized": "return",
    "filter-too-restrictive": "filter",
    "filter-loaded": "filter",
    "limit-weak": "limit",
    "coil-plugged": "coil",
    "manifold-high": "input",
}


def small_knowledge() -> Knowledge:
    """As much of the trade's knowledge as the tests need."""
    accuracy, ours = Accuracy(relative=0.01, basis=ESTIMATE), load()
    readings = [
        Reading(id=slug(name), name=name.capitalize(), kind=kind, tap=_TAPS.get(name), accuracy=accuracy)
        for name, kind in _READINGS.items()
    ]
    findings = [
        Finding(
            id=slug(name),
            name=name.capitalize(),
            leak=0.02,
            basis=ESTIMATE,
            aliases=("f-filter-dirty",) if name == "filter dirty" else (),
        )
        for name in _FINDINGS
    ]
    causes = [
        Cause(
            id=name,
            name=name.replace("-", " ").capitalize(),
            part=part,
            side="other",
            mechanism="It hinders.",
            priors={"high-limit": 0.1},
            links={"filter-dirty": 0.9, "wheel-dirty": 0.2},
            effects=(Effect(on=part, least=1.5, most=3, basis=ESTIMATE),) if part != "limit" else (),
        )
        for name, part in _CAUSES.items()
    ]
    families = [
        Family(id="high-limit", name="High limit opens", complaint="the burner stops"),
        Family(id="no-ignition", name="No ignition", complaint="no flame"),
    ]
    empty: dict[str, Any] = dict.fromkeys(
        ("voids", "tests", "remedies", "verification", "stops", "cautions", "parts", "constants", "sources"), {}
    )
    return Knowledge(
        families={f.id: f for f in families},
        readings={r.id: r for r in readings},
        findings={f.id: f for f in findings},
        causes={c.id: c for c in causes},
        pairs=(),
        damage=(),
        context=(),
        proofs=(),
        aliases={"f-filter-dirty": "filter-dirty"},
        version="small",
        states=ours.states,
        bounds=ours.bounds,
        ranges=ours.ranges,
        components=ours.components,
        values=ours.values,
        unknowns=ours.unknowns,
        pieces=ours.pieces,
        **empty,
    )
