"""Authors' changes: every documented form is read, and what is not understood is named with its place."""

from __future__ import annotations

from dataclasses import replace

import pytest

from causebook import quantity as qty
from causebook.casefile.model import CaseOption
from causebook.equipment.furnace.evidence import Gauge
from causebook.physics.whatif import (
    AddParallel,
    LiftSpeed,
    RemovePart,
    ReplaceFurnace,
    ReplacePart,
    ScaleInput,
    SetInput,
    SetSetting,
)
from causebook.sizing import changes
from causebook.sizing.changes import change_problems, planned
from causebook.sizing.forms import FORMS
from causebook.sizing.plan import NOTHING, foretell

RUN = {"duct": "14 in round", "length": "22 ft", "grille": "18 x 24 in"}
FORMS_READ = [
    ("filter", {"kind": "deep media", "size": "20 x 25 x 4 in"}, ReplacePart),
    ("filter", {"kind": "anything", "clean drop": "0.08 inH2O", "at": "1000 cfm"}, ReplacePart),
    ("filter", "clean", ReplacePart),
    ("filter", "removed", RemovePart),
    ("add return", RUN, AddParallel),
    ("add return", {"duct": "12 in round", "of": "flex", "slack": "8 %", "count": "2"}, AddParallel),
    ("add return", {"drop": "0.10 inH2O", "at": "600 cfm"}, AddParallel),
    ("return", {"duct": "20 x 10 in", "length": "30 ft"}, ReplacePart),
    ("return", {"drop": "0.10 inH2O", "at": "1000 cfm"}, ReplacePart),
    ("coil", "cleaned", ReplacePart),
    ("coil", {"clean drop": "0.16 inH2O", "at": "1000 cfm"}, ReplacePart),
    ("supply", {"branches": "2", "duct": "7 in round", "length": "20 ft"}, AddParallel),
    ("supply", {"drop": "0.12 inH2O", "at": "1000 cfm"}, ReplacePart),
    ("supply", {"duct": "20 x 8 in", "length": "9 ft"}, ReplacePart),
    ("supply", "opened", ReplacePart),
    ("add supply", {"duct": "8 in round", "length": "4 ft", "grille": "14 x 6 in"}, AddParallel),
    ("blower", "clean", LiftSpeed),
    ("blower", {"capacitor": "new"}, LiftSpeed),
    ("blower", {"setting": "medium-high"}, SetSetting),
    ("capacitor", "10 µF", LiftSpeed),
    ("wheel", "clean", LiftSpeed),
    ("motor", "new", LiftSpeed),
    ("orifices", "45", ScaleInput),
    ("orifices", "No. 45", ScaleInput),
    ("orifices", {"from": "43", "to": "45"}, ScaleInput),
    ("orifices", "0.082 in", ScaleInput),
    ("manifold", "3.5 inH2O", ScaleInput),
    ("input", "80000 Btu/h", SetInput),
    ("furnace", {"input": "60000 Btu/h", "output": "57000 Btu/h"}, ReplaceFurnace),
    (
        "furnace",
        {"input": "60000 Btu/h", "efficiency": "95 %", "airflow": "1050 cfm", "rise": "35 to 65 degF"},
        ReplaceFurnace,
    ),
]
NOT_READ = [
    ("add retrun", RUN, "is no part that can be changed"),
    ("filter", {"kind": "purple", "size": "16 x 20 x 1 in"}, "purple"),
    ("filter", {"kind": "deep media"}, "`size` is missing"),
    ("filter", {"kind": "deep media", "sise": "20 x 25 x 4 in"}, "'sise' is not known here"),
    ("add return", {"length": "22 ft"}, "`duct` is missing"),
    ("add return", {"duct": "14 round"}, "14"),
    ("add return", {"duct": "14 in round", "of": "bamboo"}, "bamboo"),
    ("blower", {"setting": "warp"}, "warp"),
    ("blower", {}, "nothing is changed"),
    ("orifices", "big ones", "big ones"),
    ("manifold", "3.5", "3.5"),
    ("input", "lots", "lots"),
    ("furnace", {"input": "60000 Btu/h"}, "`output` is missing"),
    ("limit", "hot", "hot"),
    ("supply", {"branches": "many"}, "many"),
    ("inlet", "three sides", "three sides"),
]


def plan_of(one, **change):
    return planned(CaseOption(name="it", change={k.replace("_", " "): v for k, v in change.items()}), 1, one.job)


@pytest.mark.parametrize(("part", "value", "kind"), FORMS_READ, ids=lambda x: str(x)[:40])
def test_every_documented_form_is_read_and_solved(worked, part, value, kind):
    one = worked("large-orifices")
    plan = planned(CaseOption(name="it", change={part: value}), 1, one.job)
    assert not plan.not_understood
    assert any(isinstance(c, kind) for c in plan.changes)
    assert foretell(one.found, plan).terms["airflow"].si > 0


def test_every_form_of_the_table_has_a_test():
    tested = {part for part, *_ in FORMS_READ} | {"limit", "recirculation", "bypass", "inlet"}
    assert set(FORMS) <= tested


def test_forms_and_the_guide_name_the_same_parts():
    for part in FORMS:
        assert f"{part}:" in changes.__doc__ or f"`{part}:" in changes.__doc__, part


@pytest.mark.parametrize(("part", "value", "word"), NOT_READ, ids=lambda x: str(x)[:40])
def test_what_is_not_understood_is_named(worked, part, value, word):
    plan = planned(CaseOption(name="it", change={part: value}), 1, worked("large-orifices").job)
    assert not plan.changes
    assert any(part in lost and word in lost for lost in plan.not_understood), plan.not_understood


def test_the_part_that_is_understood_is_still_computed(worked):
    plan = plan_of(worked("large-orifices"), filter="clean", chimney="new")
    assert plan.changes and len(plan.not_understood) == 1


def test_a_part_beside_the_air_is_no_mistake(worked):
    plan = plan_of(worked("large-orifices"), thermostat="moved", drain="new")
    assert not plan.not_understood and not plan.changes and plan.scope


def test_orifices_and_input_together_set_the_input_once(worked):
    plan = plan_of(worked("large-orifices"), orifices="No. 45", input="98000 Btu/h")
    (change,) = plan.changes
    assert qty.us(change.input, qty.HEAT_RATE) == pytest.approx(98000)


def test_a_problem_names_its_line_and_the_nearest_word(worked):
    one = worked("large-orifices")
    lost = planned(CaseOption(name="manifold down", change={"filtr": "clean"}), 2, one.job).not_understood
    options = [replace(o, not_understood=lost) if o.id == "offered-2" else o for o in one.options]
    (problem,) = change_problems(one.case, options)
    assert problem.line == one.case.line("visits.1.options.2.change") > 0
    assert "filter" in problem.hint and problem.rule == "option-not-understood"
    assert problem.path == one.case.path and problem.severity == "warning"
    file = one.case.file.model_copy(update={"answered": {problem.rule: "known"}})
    assert change_problems(one.case.model_copy(update={"file": file}), options) == []


def test_cases_whose_changes_are_all_understood_raise_no_problem(worked):
    for name in ("short-of-return", "large-orifices", "too-large", "cooling-on-two", "pinched-run"):
        assert change_problems(worked(name).case, worked(name).options) == []


def test_a_higher_limit_is_not_taken_for_a_repair(worked):
    plan = plan_of(worked("large-orifices"), limit={"opens": "230 degF"})
    assert plan.breaks


SLOW = {"motor": Gauge(0.80, 0.02), "speed": Gauge(0.72, 0.02)}
"""A motor at 80 % behind a wheel that moves 90 % of its air."""


@pytest.fixture
def slow(worked):
    """Makes the job of a furnace whose blower lacks so much, and the airflow that a change would give it."""
    one = worked("large-orifices")
    moments = replace(one.job.found.moments, **SLOW)
    fan = one.job.found.system.fan
    system = replace(one.job.found.system, fan=replace(fan, speed=0.72 + 0 * fan.speed))
    job = replace(one.job, found=replace(one.job.found, moments=moments, system=system))

    def airflow(change):
        plan = planned(CaseOption(name="it", change=change), 1, job)
        return plan, foretell(job.found, plan).terms["airflow"].si

    return airflow


@pytest.mark.parametrize(
    ("change", "on", "factor"),
    [
        ({"capacitor": "new"}, {"motor"}, 1 / 0.80),
        ({"motor": "new"}, {"motor"}, 1 / 0.80),
        ({"wheel": "clean"}, {"blower"}, 1 / 0.90),
        ({"blower": "clean"}, {"blower"}, 1 / 0.90),
    ],
)
def test_mending_the_motor_leaves_the_wheel_and_the_other_way_round(slow, change, on, factor):
    plan, _ = slow(change)
    assert plan.on == on
    (lift,) = plan.changes
    assert lift.factor == pytest.approx(factor)


@pytest.mark.parametrize(
    "both",
    [
        {"capacitor": "new", "wheel": "clean"},
        {"wheel": "clean", "capacitor": "new"},
        {"blower": {"capacitor": "new", "wheel": "clean"}},
        {"capacitor": "new", "blower": "clean"},
    ],
    ids=str,
)
def test_both_together_win_more_than_either_in_any_order(slow, both):
    alone = [slow(change)[1] for change in ({"capacitor": "new"}, {"wheel": "clean"})]
    plan, airflow = slow(both)
    assert plan.on == {"motor", "blower"}
    assert airflow > max(alone) > min(alone) > slow({"input": "80000 Btu/h"})[1]
    assert airflow == pytest.approx(slow({"blower": {"capacitor": "new", "wheel": "clean"}})[1])


@pytest.mark.parametrize("change", [{"wheel": "clean"}, {"capacitor": "new"}, {"motor": "new"}])
def test_mending_what_lacks_nothing_costs_no_air(worked, change):
    """A blower found faster than its table, as with the usual curve of one whose table is not known."""
    one = worked("large-orifices")
    fan = one.job.found.system.fan
    fast = replace(
        one.job,
        found=replace(
            one.job.found,
            system=replace(one.job.found.system, fan=replace(fan, speed=1.2 + 0 * fan.speed)),
            moments=replace(one.job.found.moments, speed=Gauge(1.2, 0.02), motor=Gauge(1.0, 0.0)),
        ),
    )
    plan = planned(CaseOption(name="it", change=change), 1, fast)
    assert foretell(fast.found, plan).terms["airflow"].si == pytest.approx(
        foretell(fast.found, NOTHING).terms["airflow"].si
    )
