"""Verdicts: knowing when it does not know, stops that always fire, roles by what-if, limits not condemned early.

The cases are invented; the trade rules behind them are common practice, no source.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable

import pytest

from causebook.belief.stops import stops
from causebook.belief.verdict import Belief, Role
from causebook.casefile.model import Case, Outcome
from causebook.diagnosis import diagnose
from causebook.knowledge.model import Knowledge
from causebook.survey.survey import survey

NORMAL = {
    "supply-air": "120.5 degF",
    "return-air": "66.0 degF",
    "meter-time": "93.2 s",
    "manifold": "3.5 inH2O",
    "tap-before-filter": "-0.16 inH2O",
    "tap-after-filter": "-0.27 inH2O",
    "tap-before-coil": "0.29 inH2O",
    "tap-after-coil": "0.12 inH2O",
}
QUIET = dict.fromkeys(
    (
        "filter-dirty",
        "wheel-dirty",
        "registers-closed",
        "return-grille-covered",
        "setting-low",
        "limit-not-as-listed",
        "other-device-open",
        "only-with-few-zones",
        "blower-late",
        "trip-after-call",
    ),
    "no",
)


def test_an_intermittent_fault_with_every_reading_normal_stays_undetermined(
    knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    case = make_case(
        {"seen": {"limit-fault-stored": "yes", "happens-intermittently": "yes"}},
        {"read": NORMAL, "seen": {**QUIET, "limit-opened-while-watched": "no"}},
        {"read": {"limit-opened-at": "198 degF", "volts-across-limit": "0.1 V"}},
        {"seen": {"limit-wire-poor": "unclear"}},
    )
    verdict = diagnose(case, knowledge).verdict
    assert verdict.outcome is Outcome.UNDETERMINED and not verdict.answered
    assert verdict.would_settle
    first = verdict.causes[0]
    assert first.probability < 0.8 and first.belief is not Belief.SETTLED
    likeliest = [c.id for c in verdict.causes[:5]]
    assert {"limit-wiring", "board-false-limit"} & set(likeliest)
    for air in ("filter-loaded", "return-undersized", "coil-plugged", "manifold-high"):
        assert verdict.cause(air).probability < 0.25


def test_the_complaint_alone_names_nothing(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    verdict = diagnose(make_case({"seen": {"limit-fault-stored": "yes"}}), knowledge).verdict
    assert not verdict.answered and verdict.outcome is Outcome.UNDETERMINED
    assert verdict.next_tests and verdict.next_tests[0].id == "arrive-with-co-meter"


FIRING = [
    ({"read": {"co-indoors": "80 ppm", "co-outdoors": "0 ppm"}}, "co"),
    ({"seen": {"gas-smell": "yes"}}, "gas"),
    ({"seen": {"crack-seen": "yes"}}, "breach"),
    ({"seen": {"flame-moves-when-blower-starts": "yes"}}, "breach"),
    ({"seen": {"safety-bypassed": "yes"}}, "bypass"),
    ({"seen": {"scorch-at-burner": "yes"}}, "roll-out"),
    ({"seen": {"spillage-seen": "yes"}}, "spillage"),
]
AROUND = [{}, {"read": NORMAL, "seen": QUIET}]


@pytest.mark.parametrize(("fires", "around"), list(itertools.product(FIRING, AROUND)))
def test_stops_fire_whatever_else_was_read(
    fires: tuple[dict, str], around: dict, knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    step, word = fires
    for steps in ([step, around], [around, step]):
        case = make_case(*[s for s in steps if s])
        surveyed = survey(case, knowledge)
        fired = stops(case, surveyed, diagnose(case, knowledge, surveyed, show_steps=False).verdict.causes, knowledge)
        assert any(word in s.id for s in fired), [s.id for s in fired]
        assert all(s.open for s in fired)


def test_a_struck_reading_still_stops(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    case = make_case({"read": {"co-indoors": "80 ppm"}, "with": {"meter zero": "indoors"}})
    fired = stops(case, survey(case, knowledge), [], knowledge)
    assert any("co" in s.id for s in fired)


def test_a_good_limit_is_not_condemned_by_its_own_trips(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    """It opened, the air was hot: the switch did its duty."""
    case = make_case(
        {
            "read": {"supply-air-at-trip": "146 degF", "return-air": "67 degF", "meter-time": "93.2 s"},
            "seen": {"limit-fault-stored": "yes", "limit-opened-while-watched": "yes"},
        },
        {
            "read": {
                "tap-before-filter": "-0.12 inH2O",
                "tap-after-filter": "-0.70 inH2O",
                "tap-before-coil": "0.22 inH2O",
                "tap-after-coil": "0.10 inH2O",
            }
        },
    )
    verdict = diagnose(case, knowledge, show_steps=False).verdict
    assert verdict.cause("limit-weak").probability < 0.04
    assert verdict.with_role(Role.ROOT)[0].id in ("filter-loaded", "filter-too-restrictive", "filter-doubled")


def test_a_limit_proven_low_with_air_and_input_right_is_the_root(
    knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    case = make_case(
        {
            "read": {k: v for k, v in NORMAL.items() if k != "supply-air"} | {"supply-air-at-trip": "117 degF"},
            "seen": {"limit-fault-stored": "yes", "limit-opened-while-watched": "yes", **QUIET},
        },
        {"read": {"limit-opened-at": "158 degF"}},
    )
    root = diagnose(case, knowledge, show_steps=False).verdict.with_role(Role.ROOT)[0]
    assert root.id == "limit-weak" and root.root_chance > 0.8


def test_presence_is_not_guilt(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    """A filter that is certainly dirty beside a blower at half its capacitance: the capacitor must be corrected."""
    case = make_case(
        {
            "read": {"supply-air-at-trip": "148 degF", "return-air": "67 degF", "meter-time": "93.2 s"},
            "seen": {"limit-fault-stored": "yes", "limit-opened-while-watched": "yes", "filter-dirty": "yes"},
        },
        {
            "read": {
                "tap-before-filter": "-0.04 inH2O",
                "tap-after-filter": "-0.12 inH2O",
                "tap-before-coil": "0.11 inH2O",
                "tap-after-coil": "0.04 inH2O",
            }
        },
        {"read": {"capacitor": "5.1 µF"}},
        blower={"motor": "split capacitor", "setting": "medium-high", "capacitor": "10 µF"},
    )
    verdict = diagnose(case, knowledge, show_steps=False).verdict
    assert verdict.cause("filter-loaded").probability > 0.5
    root = verdict.with_role(Role.ROOT)[0]
    assert root.id == "capacitor-weak" and root.root_chance > 2 * verdict.cause("filter-loaded").root_chance


def test_a_label_that_promises_a_high_drop_speaks_of_the_filter(
    knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    """Its drop is what its label says, and that is the fault."""
    steps = (
        {
            "read": {"supply-air-at-trip": "146 degF", "return-air": "67 degF", "meter-time": "93.2 s"},
            "seen": {"limit-fault-stored": "yes", "limit-opened-while-watched": "yes", "filter-dirty": "no"},
        },
        {
            "read": {
                "tap-before-filter": "-0.12 inH2O",
                "tap-after-filter": "-0.52 inH2O",
                "tap-before-coil": "0.22 inH2O",
                "tap-after-coil": "0.10 inH2O",
            }
        },
    )
    fine = make_case(*steps, filter={"kind": "fine pleated", "clean drop": "0.45 inH2O", "at": "1000 cfm"})
    coarse = make_case(*steps, filter={"kind": "pleated", "clean drop": "0.12 inH2O", "at": "1000 cfm"})
    of = [diagnose(c, knowledge, show_steps=False).posterior.marginal["filter-too-restrictive"] for c in (fine, coarse)]
    assert of[0] > 0.9 and of[1] < 0.6 * of[0]


def test_what_would_change_nothing_is_not_proposed(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    case = make_case(
        {
            "read": {"meter-time": "93.2 s"},
            "seen": {"limit-fault-stored": "yes", "wheel-dirty": "no", "wheel-loose": "no", "screech-or-scrape": "no"},
        }
    )
    proposed = [t.id for t in diagnose(case, knowledge, show_steps=False).verdict.next_tests]
    assert "wheel-look" not in proposed and "clock-gas" not in proposed
    # The fan table says nothing without a static, nor the limit's face before air and gas are proven.
    assert "fan-table-lookup" not in proposed and "limit-face-test" not in proposed


def test_demo_roots_are_those_of_their_authors(knowledge: Knowledge, demo_cases: list[Case]) -> None:
    """Every worked case: the author's root, or the damage it did where that is what was read; no root where the author
    named none."""
    for case in demo_cases:
        concluded = case.conclusion
        assert concluded is not None
        verdict = diagnose(case, knowledge, show_steps=False).verdict
        roots = [c.id for c in verdict.with_role(Role.ROOT)]
        if concluded.root:
            assert roots and roots[0] in {*concluded.root, *concluded.damage_done}, (case.id, roots)
        else:
            assert not verdict.answered, case.id
