"""The knowledge says truly which findings follow from a reading: each is taken away from all, and taken alone."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from causebook import quantity as qty
from causebook.survey import survey
from survey.small import KNOWN, case, step

COMPUTED = {f.id for f in KNOWN.findings.values() if f.computed or f.when}
# Examples of their kinds will do for all others.
SOUND = {
    "tap-behind-grille": "-0.05 inH2O",
    "tap-before-filter": "-0.1 inH2O",
    "tap-after-filter": "-0.2 inH2O",
    "blower-box": "-0.3 inH2O",
    "tap-before-coil": "0.3 inH2O",
    "tap-after-coil": "0.1 inH2O",
    "supply-air": "120 degF",
    "return-air": "70 degF",
    "register-air": "110 degF",
    "rise": "50 degF",
    "supply-air-at-trip": "115 degF",
    "meter-time": "45 s",
    "volts-across-limit": "1 V",
}
ALL = {id_: SOUND.get(id_, qty.KINDS[reading.kind].example) for id_, reading in KNOWN.readings.items()}
CHANGES: tuple[dict[str, str], ...] = (
    {},
    {"filter": "removed"},
    {"filter": "removed", "return": "opened"},
    {"supply": "opened"},
    {"return": "opened", "supply": "opened"},
    {"blower": "set to high"},
    {"flame rod": "cleaned"},
)
PLATE = {"pressure switch": {"closes": "-0.6 inH2O"}, "inlet range": "5 to 10 inH2O"}
BLOWER = {"motor": "split capacitor", "setting": "high", "full load": "6 A", "capacitor": "10 uF", "speed": "1075 rpm"}


def told(read: Mapping[str, str]) -> dict[str, str]:
    """What the survey says of each computed finding when these were read in every state of the air path."""
    steps = [step(n, read, **{"with": state}) for n, state in enumerate(CHANGES, 1)]
    found = survey(case(steps, plate=PLATE, blower=BLOWER), KNOWN).findings
    return {f.id: f"{f.state} {f.because}" for f in found if f.id in COMPUTED}


WHOLE, BARE = told(ALL), told({})


@pytest.mark.parametrize("id_", KNOWN.readings)
def test_a_reading_shows_the_findings_that_it_is_said_to_show(id_: str) -> None:
    without, alone = told({r: text for r, text in ALL.items() if r != id_}), told({id_: ALL[id_]})
    moved = {f for f in COMPUTED if WHOLE.get(f) != without.get(f) or BARE.get(f) != alone.get(f)}
    assert moved <= set(KNOWN.readings[id_].shows)


def test_every_computed_finding_follows_from_some_reading() -> None:
    assert COMPUTED <= {finding for reading in KNOWN.readings.values() for finding in reading.shows}
