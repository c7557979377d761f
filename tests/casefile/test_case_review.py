"""Each rule of the review objects to one unsound argument, at its line, and is silent when answered."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from causebook.casefile import Case, read_case
from causebook.casefile.review import RULES, answered, objection
from causebook.knowledge import Knowledge
from causebook.problems import Severity

Edit = Callable[..., Path]
Change = tuple[tuple[str, str], ...]

# Rule -> (what makes the sound case unsound, the text of the line the message must name).
UNSOUND: dict[str, list[tuple[Change, str]]] = {
    "root-untested": [
        (
            (("root: {return-undersized:", "root: {limit-weak:"), ("after: repair", "mode: heating")),
            "root: {limit-weak:",
        ),
        (
            (
                ("with: {filter: out, return: open beside the furnace}", "with: {coil: wet}"),
                ("after: repair", "mode: heating"),
            ),
            "root: {return-undersized:",
        ),
    ],
    "ruled-out-without-reason": [
        ((('not it: {coil-plugged: "0.13, dry"}', "not it: {coil-plugged: }"),), "not it: {coil-plugged: }"),
        ((('not it: {coil-plugged: "0.13, dry"}', "not it: {coil-plugged: ' '}"),), "not it: {coil-plugged: ' '}"),
    ],
    "boundary-unstated": [
        ((("  counted as external: [return, filter, coil, supply]\n", ""),), "static maximum: 0.50 inH2O")
    ],
    "before-or-after": [
        (
            (("        seen: {limit opened while watched: yes}", "        changed: {filter: new}"),),
            "- do: Watched one call",
        )
    ],
    "plate-value-missing": [
        ((("{time to trip", "{meter time: 92 s, time to trip"), ("  meter dial: 2 ft^3\n", "")), "meter time: 92 s"),
        ((("{time to trip", "{motor amps: 5 A, time to trip"), ("  full load: 6.1 A\n", "")), "motor amps: 5 A"),
    ],
    "taps-differ": [((("tap before filter: -0.12 inH2O, ", "blower box: -0.30 inH2O, "),), "blower box: -0.30 inH2O")],
    "pressure-order": [
        ((("tap after coil: 0.11 inH2O", "tap after coil: 0.31 inH2O"),), "tap after coil: 0.31 inH2O"),
        ((("tap before filter: -0.41 inH2O", "tap before filter: -0.61 inH2O"),), "tap after filter: {value: -0.55"),
        ((("tap before filter: -0.41 inH2O", "tap before filter: 0.41 inH2O"),), "tap before filter: 0.41 inH2O"),
        ((("tap after coil: 0.11 inH2O", "tap after coil: -0.11 inH2O"),), "tap after coil: -0.11 inH2O"),
    ],
    "rise-not-difference": [((("rise: 53 degF", "rise: 56 degF"),), "rise: 56 degF")],
    "reading-doubtful": [
        ((("{supply air: 121.0 degF, ", "{supply air: 412 degF, "), (", rise: 53 degF", "")), "412 degF")
    ],
    "identifying": [
        (
            (
                (
                    "read: {supply air: 121.0 degF, return air: 68.0 degF, rise: 53 degF}",
                    "told: Mrs. Example at 12 Mill Street",
                ),
            ),
            "12 Mill Street",
        )
    ],
    "part-unknown": [
        (
            (("read: {supply air: 121.0 degF, return air: 68.0 degF, rise: 53 degF}", "changed: {whel: clean}"),),
            "whel: clean",
        )
    ],
    "stop-open": [
        ((('not it: {coil-plugged: "0.13, dry"}', 'stop: "gas off, tagged, owner told"'),), 'stop: "gas off'),
        (
            (
                ("outcome: settled and corrected", 'outcome: "first answer wrong, corrected"'),
                ('not it: {coil-plugged: "0.13, dry"}', 'stop: "gas off, tagged, owner told"'),
            ),
            'stop: "gas off',
        ),
    ],
    "undetermined-without-test": [
        ((("outcome: settled and corrected", "outcome: undetermined"),), "outcome: undetermined")
    ],
    "customer-words": [
        ((("It has a second way in now.", "It was return-undersized."),), "customer:"),
        ((("It has a second way in now.", "Finding f_filter_dirty was absent."),), "customer:"),
        ((("It has a second way in now.", "It burns 60,000 an hour."),), "customer:"),
        ((("It has a second way in now.", "The limit is 0.5 there."),), "customer:"),
    ],
}
CASES = [(rule, change, line) for rule, ways in UNSOUND.items() for change, line in ways]


def test_every_rule_of_the_case_alone_is_tried_here() -> None:
    assert set(UNSOUND) == {rule.id for rule in RULES.values() if not rule.by_workup}


def test_every_rule_is_one_sentence() -> None:
    assert all(rule.sentence.endswith(".") and "\n" not in rule.sentence for rule in RULES.values())


@pytest.mark.parametrize(("rule", "change", "line"), CASES)
def test_an_unsound_argument_is_objected_to_at_its_line(
    edit: Edit, knowledge: Knowledge, rule: str, change: Change, line: str
) -> None:
    folder = edit(*change)
    case, problems = read_case(folder, knowledge)
    assert [problem.rule for problem in problems] == [rule], "\n".join(map(str, problems))
    assert problems[0].severity is RULES[rule].severity
    assert (case is None) == (RULES[rule].severity is Severity.ERROR)
    assert line in (folder / "case.yml").read_text(encoding="utf-8").splitlines()[problems[0].line - 1]
    assert str(problems[0]).endswith(f"[{rule}]")


@pytest.mark.parametrize(("rule", "change", "line"), CASES)
def test_an_answered_rule_is_silent(edit: Edit, knowledge: Knowledge, rule: str, change: Change, line: str) -> None:
    spoken = rule.replace("-", " ") if len(rule) % 2 else rule  # both ways of writing it
    case, problems = read_case(
        edit(*change, ("teach:", f"answered: {{{spoken}: it is so in this house}}\nteach:")), knowledge
    )
    assert case is not None and problems == []
    assert answered(case, rule) == "it is so in this house"


@pytest.mark.parametrize(
    "change",
    [
        # The words `not tested` are honest, and enough.
        (
            (
                'root: {return-undersized: "in range only with the return opened"}',
                'root: {limit-weak: "Not tested: no probe"}',
            ),
            ("after: repair", "mode: heating"),
        ),
        # Readings after the repair try any root.
        (('root: {return-undersized: "in range only with the return opened"}', 'root: {limit-weak: "gone since"}'),),
        # A reading that does not count argues nothing.
        (
            ("tap after coil: 0.11 inH2O", "tap after coil: {value: 0.31 inH2O, void: hose off}"),
            (", tap after coil: 0.16 inH2O", ""),
        ),
        # Across the wheel pressure rises.
        (("tap before coil: 0.24 inH2O", "blower box: -0.60 inH2O\n          tap before coil: 0.24 inH2O"),),
        # Two steps of the gauge are no rise.
        (("tap after coil: 0.11 inH2O", "tap after coil: 0.26 inH2O"),),
        (("rise: 53 degF", "rise: 54.5 degF"),),
        # Fewer taps afterwards can still be compared.
        (("tap before filter: -0.12 inH2O, ", ""),),
        (
            (
                'not it: {coil-plugged: "0.13, dry"}',
                'stop: gas off\n      stop closed: "exchanger replaced, back in service"',
            ),
        ),
        (
            ("outcome: settled and corrected", "outcome: undetermined"),
            ('not it: {coil-plugged: "0.13, dry"}', "would settle: a second cold night"),
        ),
        (
            ("outcome: settled and corrected", "outcome: stopped for safety"),
            ('not it: {coil-plugged: "0.13, dry"}', "stop: gas off, owner told"),
        ),
        # Years, small numbers and plain words are the customer's own.
        (
            (
                "It has a second way in now.",
                "Since 2011 it has had 60 starts; the filter dirty or not, the duct was 8 in wide.",
            ),
        ),
    ],
)
def test_a_sound_argument_is_let_be(edit: Edit, knowledge: Knowledge, change: Change) -> None:
    case, problems = read_case(edit(*change), knowledge)
    assert case is not None and problems == [], "\n".join(map(str, problems))


def _case(folder: Path, knowledge: Knowledge) -> Case:
    case, _ = read_case(folder, knowledge)
    assert case is not None
    return case


def test_rules_of_the_workup_object_and_are_answered_alike(edit: Edit, knowledge: Knowledge) -> None:
    case = _case(edit(), knowledge)
    place = "visits.1.concluded.root.return-undersized"
    found = objection(case, "conclusion-unsupported", place, "is believed 0.2", "a root that the readings support")
    assert [(p.line, p.rule, p.severity) for p in found] == [
        (case.line(place), "conclusion-unsupported", Severity.WARNING)
    ]
    case = _case(edit(("teach:", "answered: {conclusion-unsupported: seen with own eyes}\nteach:")), knowledge)
    assert objection(case, "conclusion-unsupported", place, "is believed 0.2", "") == []


def test_a_rule_must_exist(case_folder: Path, knowledge: Knowledge) -> None:
    with pytest.raises(KeyError):
        answered(_case(case_folder, knowledge), "no-such-rule")
