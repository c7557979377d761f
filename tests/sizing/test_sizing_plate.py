"""Attempts to make sizing recommend what breaks the plate, the instructions or good sense."""

from __future__ import annotations

from dataclasses import replace

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from causebook import quantity as qty
from causebook.belief.verdict import Role
from causebook.casefile.model import CaseOption
from causebook.casefile.read import read_case
from causebook.diagnosis import diagnose, plate_of
from causebook.quantity import CFM
from causebook.sizing import return_air
from causebook.sizing.changes import planned
from causebook.sizing.judge import Judge
from causebook.sizing.options import _own, options
from causebook.sizing.replacement import loads
from causebook.survey.survey import survey

ATTEMPTS = [
    ("large-orifices", {"manifold": "2.5 inH2O"}, "manifold"),
    ("large-orifices", {"orifices": "42"}, "input"),
    ("large-orifices", {"input": "120000 Btu/h"}, "input"),
    ("short-of-return", {"limit": {"opens": "250 degF"}}, "limit of"),
    ("short-of-return", {"filter": "removed", "return": {"duct": "20 in round", "length": "10 ft"}}, "no filter"),
    ("short-of-return", {"blower": {"capacitor": "new"}}, "rise"),
    ("weak-start", {"capacitor": "new", "input": "40000 Btu/h"}, "asks for"),
    ("too-large", {"furnace": {"input": "125000 Btu/h", "output": "100000 Btu/h"}}, "rise"),
    ("too-large", {"filter": "clean"}, "out of service"),
]


def tried(one, change, **furnace):
    """The options of a case whose author offers only `change`, with another plate."""
    option = CaseOption(name="the attempt", change=change, chosen=True)
    visits = tuple(
        v.model_copy(update={"options": (option,) if n == 0 else ()}) for n, v in enumerate(one.case.file.visits)
    )
    plate = one.case.file.furnace.model_copy(update=furnace)
    case = one.case.model_copy(update={"file": one.case.file.model_copy(update={"visits": visits, "furnace": plate})})
    return options(replace(one.surveyed, case=case), replace(one.diagnosis, plate=plate_of(case)), one.fired)


def attempt(found):
    return next(o for o in found if o.name == "the attempt")


@pytest.mark.parametrize(("case", "change", "word"), ATTEMPTS)
def test_what_breaks_a_rule_is_shown_and_never_recommended(worked, case, change, word):
    option = attempt(tried(worked(case), change))
    assert not option.recommended
    assert any(word in broken for broken in option.breaks_plate), option.breaks_plate


def test_return_air_below_the_least_of_the_plate_is_never_recommended(worked):
    one = worked("short-of-return")
    cold = tried(one, {"filter": "clean"}, return_minimum=qty.q(70, "degF"))
    assert not any(o.recommended for o in cold)
    assert all(any("return air" in b for b in o.breaks_plate) for o in cold if o.rise is not None)


def test_one_side_of_the_cabinet_is_not_asked_for_more_than_it_takes(worked, monkeypatch):
    one = worked("short-of-return")
    change = {
        "filter": {"kind": "deep media", "size": "20 x 25 x 4 in"},
        "add return": {"duct": "14 in round", "length": "22 ft", "grille": "18 x 24 in"},
        "inlet": "one side",
    }
    assert attempt(tried(one, change)).recommended
    monkeypatch.setattr(return_air, "ONE_SIDE_MOST", 1000 * CFM)
    broken = attempt(tried(one, change))
    assert not broken.recommended and any("one-side inlet" in b for b in broken.breaks_plate)
    both = attempt(tried(one, change | {"inlet": "two sides"}))
    assert not any("inlet" in b for b in both.breaks_plate)


def test_like_for_like_is_not_recommended_for_a_house_that_needs_half(worked):
    one = worked("too-large")
    best = [o for o in one.options if o.recommended]
    assert [o.id.split("+")[0] for o in best] == ["smaller-furnace"]
    assert all("furnace" in " ".join(o.scope).lower() for o in best)


CHANGES = {
    "filter": st.sampled_from(
        [
            "clean",
            "removed",
            {"kind": "deep media", "size": "20 x 25 x 4 in"},
            {"kind": "fine pleated", "size": "16 x 20 x 1 in"},
        ]
    ),
    "add return": st.sampled_from(
        [
            {"duct": "14 in round", "length": "22 ft", "grille": "18 x 24 in"},
            {"duct": "8 in round", "length": "40 ft", "of": "flex", "slack": "10 %"},
        ]
    ),
    "manifold": st.sampled_from(["2.5 inH2O", "3.2 inH2O", "3.5 inH2O", "3.9 inH2O", "5 inH2O"]),
    "input": st.sampled_from(["30000 Btu/h", "64000 Btu/h", "80000 Btu/h", "83000 Btu/h", "110000 Btu/h"]),
    "inlet": st.sampled_from(["one side", "two sides", "bottom"]),
    "coil": st.just("clean"),
    "limit": st.sampled_from(["new", {"opens": "240 degF"}]),
}


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    change=st.fixed_dictionaries({}, optional=CHANGES),
    low=st.integers(20, 60),
    width=st.integers(15, 40),
    outlet=st.integers(110, 190),
    back=st.integers(50, 75),
)
def test_nothing_recommended_breaks_the_plate(worked, change, low, width, outlet, back):
    one = worked("short-of-return")
    rise = (qty.q(low, "delta_degF"), qty.q(low + width, "delta_degF"))
    found = tried(one, change, rise=rise, outlet_maximum=qty.q(outlet, "degF"), return_minimum=qty.q(back, "degF"))
    for option in found:
        if not option.recommended:
            continue
        assert not option.breaks_plate and not option.not_understood
        assert low <= qty.us(option.rise.value, qty.TEMPERATURE_DIFFERENCE) <= low + width
        assert qty.us(option.outlet.value, qty.PROBE_TEMPERATURE) <= outlet
        assert (
            qty.us(option.outlet.value, qty.PROBE_TEMPERATURE) - qty.us(option.rise.value, qty.TEMPERATURE_DIFFERENCE)
            >= back - 0.01
        )
        assert option.trips is False
        if option.by_author:
            assert change.get("manifold") in (None, "3.2 inH2O", "3.5 inH2O") and change.get("filter") != "removed"
    assert sum(o.recommended for o in found) <= 1


def with_options(tmp_path, knowledge, *drawn_up):
    """A cool-running furnace with a stored limit fault and nothing that says why, worked with these options."""
    case = {
        "title": "Stored once",
        "complaint": {"family": "high-limit", "words": "It stopped."},
        "site": {"elevation": "150 ft", "heating value": "1035 Btu/ft^3", "meter dial": "2 ft^3"},
        "furnace": {
            "kind": "non-condensing",
            "input": "80000 Btu/h",
            "output": "64000 Btu/h",
            "rise": "35 to 65 degF",
            "static maximum": "0.50 inH2O",
            "counted as external": ["return", "filter", "coil", "supply"],
            "limit": {"opens": "200 degF"},
        },
        "blower": {"motor": "split capacitor", "setting": "medium"},
        "coil": {"cooling": "3 ton"},
        "visits": [
            {
                "date": "2024-02-01",
                "options": list(drawn_up),
                "steps": [
                    {
                        "do": "Read it",
                        "seen": {"limit fault stored": "yes"},
                        "read": {
                            "return air": "68 degF",
                            "supply air": "128 degF",
                            "tap before filter": "-0.40 inH2O",
                            "tap after filter": "-0.65 inH2O",
                            "tap before coil": "0.45 inH2O",
                            "tap after coil": "0.30 inH2O",
                            "meter time": "93.15 s",
                        },
                    }
                ],
            }
        ],
    }
    folder = tmp_path / "stored-once"
    folder.mkdir()
    (folder / "case.yml").write_text(yaml.safe_dump(case), encoding="utf-8")
    read, problems = read_case(folder, knowledge)
    assert read is not None, problems
    surveyed = survey(read, knowledge)
    told = diagnose(read, knowledge, surveyed, show_steps=False)
    return told, {o.name: o for o in options(surveyed, told, ())}


def test_what_changes_nothing_ends_nothing(tmp_path, knowledge):
    """The model finds the limit closed as it is, so that it stays closed after a change proves no change."""
    told, offered = with_options(tmp_path, knowledge, {"name": "as it is", "change": {"input": "80000 Btu/h"}})
    assert not told.verdict.what_ifs[0].trips
    assert not offered["as it is"].repairs
    assert "Ends" not in offered["as it is"].says


def test_no_new_limit_while_nothing_is_proven_against_it(tmp_path, knowledge):
    told, offered = with_options(tmp_path, knowledge, {"name": "a new limit", "change": {"limit": "new"}})
    assert not told.verdict.answered
    assert not [o.name for o in offered.values() if o.recommended]


@pytest.mark.parametrize("chance", [0.4, 0.9])
def test_nothing_is_recommended_while_little_speaks_for_correcting_the_root(worked, chance):
    one = worked("short-of-return")
    verdict = one.diagnosis.verdict
    causes = tuple(replace(c, restores_chance=chance) if c.role is Role.ROOT else c for c in verdict.causes)
    judge = Judge(one.job, replace(verdict, causes=causes), ())
    offered = [judge.option(plan) for plan in _own(one.job, verdict, judge)]
    assert (judge.best(offered) is not None) == (chance > 0.65)


def test_a_limit_is_recommended_only_once_it_was_seen_to_open(worked):
    """Believed weak beyond doubt, it is still first measured."""
    one = worked("short-of-return")
    root = one.diagnosis.verdict.with_role(Role.ROOT)[0]
    weak = replace(root, id="limit-weak", restores_chance=0.95)
    judge = Judge(one.job, replace(one.diagnosis.verdict, causes=(weak,)), ())
    new = planned(CaseOption(name="new", change={"limit": "new", "filter": "removed"}), 1, one.job)
    option = judge.option(new)
    judge.holds = lambda plan: True
    for proven in (False, True):
        judge.limit_proven = proven
        assert (judge.best([option]) is not None) == proven


def test_a_house_that_was_not_heated_is_sized_for_being_heated(worked):
    """Found at 28 °F indoors, the design loss is still for 70 °F."""
    one = worked("too-large")
    site = one.case.file.site.model_copy(
        update={
            "room": qty.q(28, "degF"),
            "design_outdoors": qty.q(5, "degF"),
            "building_ua": qty.q(400, "btu_it/hour/delta_degF"),
        }
    )
    case = one.case.model_copy(update={"file": one.case.file.model_copy(update={"site": site})})
    (load,) = [load for load in loads(replace(one.surveyed, case=case)) if load.method == "UA"]
    assert load.size == pytest.approx(400 * (70 - 5) * 0.29307107, rel=1e-3)
