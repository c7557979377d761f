"""A return left open, and another furnace on a case of tripping: nothing is recommended that must not stay so."""

from __future__ import annotations

import datetime as dt

from causebook.casefile.model import CaseOption
from causebook.diagnosis import diagnose
from causebook.sizing.options import options
from causebook.survey.survey import survey
from survey.small import KNOWN, case, step

NARROW = {
    "supply-air": "150 degF",
    "return-air": "70 degF",
    "meter-time": "45 s",
    "tap-before-filter": "-0.45 inH2O",
    "tap-after-filter": "-0.55 inH2O",
    "tap-before-coil": "0.24 inH2O",
    "tap-after-coil": "0.10 inH2O",
    "smallest-return-section": "70 in^2",
}


def offered(**changes):
    names = [CaseOption(name=name.replace("_", " "), change=change) for name, change in changes.items()]
    visits = {
        "visits": [
            {
                "date": dt.date(2024, 1, 24),
                "steps": [{"do": "x"}],
                "options": [o.model_dump(by_alias=True) for o in names],
            }
        ]
    }
    one = case([step(1, NARROW, {"limit-opened-while-watched": "yes"})], **visits)
    surveyed = survey(one, KNOWN)
    told = options(surveyed, diagnose(one, KNOWN, surveyed, show_steps=False), ())
    return {o.name: o for o in told}


def test_a_return_left_open_beside_the_furnace_is_never_recommended():
    told = offered(Slot_left_open={"return": "opened at the filter slot"}, Grille_cleared={"return": "cleared"})
    left = told["Slot left open"]
    assert not left.recommended and any("exhaust" in b for b in left.breaks_plate)
    assert not any("exhaust" in b for b in told["Grille cleared"].breaks_plate)


def test_a_smaller_furnace_within_its_own_range_ends_the_tripping():
    """Its limit is made for its own range of rise."""
    told = offered(
        Smaller_furnace={"furnace": {"input": "40000 Btu/h", "output": "32000 Btu/h", "rise": "25 to 65 degF"}}
    )
    assert told["Smaller furnace"].holds == "complaint and reading"
    hot = offered(Larger={"furnace": {"input": "140000 Btu/h", "output": "112000 Btu/h", "rise": "35 to 65 degF"}})
    assert hot["Larger"].holds == "neither"
