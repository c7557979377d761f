"""What a stop leaves to be recommended, on a furnace whose loaded filter explains the whole complaint."""

from __future__ import annotations

import pytest

from causebook.workup import work_up
from survey.small import KNOWN, case, step

LOADED = {
    "supply-air": "150 degF",
    "return-air": "70 degF",
    "meter-time": "45 s",
    "tap-before-filter": "-0.12 inH2O",
    "tap-after-filter": "-0.62 inH2O",
    "tap-before-coil": "0.24 inH2O",
    "tap-after-coil": "0.10 inH2O",
}
BREACH = [
    ({"crack-seen": "yes"}, {}),
    ({"flame-moves-when-blower-starts": "yes"}, {}),
    ({}, {"oxygen-in-flue-before-blower": "7 %", "oxygen-in-flue-after-blower": "9 %"}),
]
OTHERS = [
    ({"rollout-switch-open": "yes"}, {}, "Flame rollout"),
    ({"limit-not-as-listed": "yes"}, {}, "Unlisted safety part"),
    ({}, {"co-indoors": "20 ppm", "co-outdoors": "0 ppm"}, "CO in the house"),
]


def worked_up(seen, read, **more):
    # By its label the clean filter is right for this furnace.
    label = {"kind": "pleated", "size": "16 x 25 x 1 in", "clean drop": "0.10 inH2O", "at": "1000 cfm"}
    return work_up(
        case([step(1, {**LOADED, **read}, {"filter-dirty": "yes", **seen})], table=None, filter=label, **more), KNOWN
    )


def test_without_a_stop_the_filter_is_recommended():
    (best,) = [o for o in worked_up({}, {}).options if o.recommended]
    assert best.id == "new-filter"


@pytest.mark.parametrize(("seen", "read"), BREACH)
def test_a_furnace_with_a_breach_stop_is_never_mended(seen, read):
    """The crack is far from likely here; that the stop fired decides."""
    worked = worked_up(seen, read)
    assert "breach" in [s.id for s in worked.stops]
    assert worked.verdict.cause("hx-breach").probability < 0.5
    assert not any(o.recommended for o in worked.options)
    new = next(o for o in worked.options if o.id == "new-filter")
    assert any("no repair ends that: Cracked heat exchanger" in b for b in new.breaks_plate)


@pytest.mark.parametrize(("seen", "read", "name"), OTHERS)
def test_nothing_is_recommended_while_another_stop_is_open_and_the_words_say_why(seen, read, name):
    worked = worked_up(seen, read)
    assert not any(o.recommended for o in worked.options)
    assert all(f"while the furnace is out of service: {name}" in o.says for o in worked.options)


def test_a_stop_that_was_closed_no_longer_holds_a_repair_back():
    """But for one that no repair ends: what closed it is no proof that this furnace may be mended."""
    said = {"stop closed": "Source found and sealed, house aired, 0 ppm since."}
    visits = [{"date": "2024-01-24", "steps": [{"do": "x"}], "concluded": said}]
    assert any(
        o.recommended for o in worked_up({}, {"co-indoors": "20 ppm", "co-outdoors": "0 ppm"}, visits=visits).options
    )
    assert not any(o.recommended for o in worked_up({"crack-seen": "yes"}, {}, visits=visits).options)
