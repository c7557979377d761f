"""A company adds a reading with a limit by data alone: it is judged, searched by, and told when it is half done."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from causebook import cli
from causebook import quantity as qty
from causebook.casefile.read import read_case
from causebook.knowledge import load
from causebook.knowledge.loader import KnowledgeError
from causebook.library.typed import judge
from causebook.survey import survey
from causebook.survey.model import State

DEMO = Path(__file__).parents[2] / "casefiles"
OURS = """
defaults: {basis: expert estimate, leak_basis: expert estimate}
readings:
  motor-case:
    name: Motor case temperature
    kind: probe temperature
    accuracy: thermocouple
findings:
  motor-case-hot:
    name: Motor case too hot
    leak: 0.03
    when: {read: motor-case, above: 190 degF}
causes:
  motor-failing: {links: {motor-case-hot: 0.8}}
"""
REVEALED = """
tests:
  feel-motor:
    name: Motor case by thermocouple
    minutes: 3
    risk: low
    reveals: [motor-case-hot]
"""


@pytest.fixture
def ours(tmp_path):
    (tmp_path / "ours.yml").write_text(OURS + REVEALED, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(("read", "state"), [(184, State.ABSENT), (190, State.UNCLEAR), (196, State.PRESENT)])
def test_it_is_judged_on_both_sides_of_its_limit(ours, tmp_path, read, state):
    known = load(ours)
    folder = tmp_path / "case"
    shutil.copytree(DEMO / "lowest-setting", folder)
    path = folder / "case.yml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("read: {", f"read: {{motor case: {read} degF, ", 1), encoding="utf-8")
    case, problems = read_case(folder, known)
    assert case is not None, problems
    assert survey(case, known).finding("motor-case-hot").state is state


def test_it_is_searched_by(ours, capsys):
    known = load(ours)
    hot = qty.si(qty.q(205, "degF"), qty.TEMPERATURE)
    assert judge({"motor-case": hot}, known) == {"motor-case-hot": True}
    asked = ["find", str(DEMO), "--complaint", "high limit", "--read", "motor case 205 degF", "--knowledge", str(ours)]
    assert cli.main(asked) == cli.OK
    assert "Motor case too hot" in capsys.readouterr().out


def test_a_finding_that_no_test_reveals_is_refused(tmp_path):
    (tmp_path / "ours.yml").write_text(OURS, encoding="utf-8")
    with pytest.raises(KnowledgeError, match="no test reveals it"):
        load(tmp_path)


@pytest.mark.parametrize(
    ("rule", "says"),
    [
        ("{read: motor-case, above: 190 Pa}", "temperature"),
        ("{read: motor-kase, above: 190 degF}", "motor-case"),
        ("{read: motor-case}", "and not both"),
        ("{read: motor-case, above: 190 degF, below: 40 degF}", "and not both"),
    ],
)
def test_a_rule_that_cannot_be_read_says_what_is_wrong(tmp_path, rule, says):
    text = OURS.replace("{read: motor-case, above: 190 degF}", rule) + REVEALED
    (tmp_path / "ours.yml").write_text(text, encoding="utf-8")
    with pytest.raises(KnowledgeError, match=says):
        load(tmp_path)
