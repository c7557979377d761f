"""Job notes: read, brought in from elsewhere, and kept apart from everything that learns from cases."""

from __future__ import annotations

from pathlib import Path

import pytest

from causebook import knowledge
from causebook.casefile import read_case
from causebook.casefile.blank import blank, example
from causebook.casefile.foreign import bring_in
from causebook.casefile.notes import Matcher, read_notes, unnamed
from causebook.casefile.possible import bounds_of, possible, within_of
from causebook.cli import main
from causebook.knowledge.model import slug
from causebook.quantity import KINDS, parse

KNOWN = knowledge.load()
OLD = """\
Svc Date;WO #;Problem;Resolution;Parts Used;Brand;Model;Tech;Price
01/14/2021 08:30;4711;NO HEAT;Replaced ignitor, works now;HSI;Acme;U80;Kim;125,50
02/03/2021;4712;Blower wont shut up, call 555-123-4567;Oiled it;;;;Kim;80,00
2/30/2021;4713;banana;shrug;gizmo;Acme;U80;Lee;0
"""


def test_foreign_notes_come_in_with_what_was_not_understood() -> None:
    text, report, problems = bring_in(OLD.encode("cp1252"), "old.csv", None, KNOWN)
    assert text is not None and not problems
    rows = text.splitlines()
    assert rows[0] == "id,date,complaint,words,done,parts,make,model,job,technician"
    assert rows[1].startswith("job-4711,2021-01-14,no ignition: NO HEAT,")
    assert "555-123-4567" not in text and report.struck == 1
    assert report.rows == 3 and report.undated == ["2/30/2021"]
    assert dict(report.complaints) == {"banana": 1} and dict(report.parts) == {"gizmo": 1}
    assert report.unused == ("Price",)


def test_a_map_names_columns_dates_and_phrases(tmp_path: Path) -> None:
    old = "A,B,C\n3.2.2021,NO HT,x\n"
    assert bring_in(old.encode(), "old.csv", None, KNOWN)[0] is None
    mapping = tmp_path / "map.yml"
    mapping.write_text(
        "columns: {date: A, complaint: B, done: C}\ndates: day.month.year\nphrases: {NO HT: no ignition}\n",
        encoding="utf-8",
    )
    text, report, problems = bring_in(old.encode(), "old.csv", mapping, KNOWN)
    assert text is not None and "2021-02-03,no ignition: NO HT" in text and not report.complaints, problems


@pytest.mark.parametrize(
    ("mapping", "words"),
    [
        ("columns: {date: Z, complaint: B}", "there is no column 'Z'"),
        ("columns: {dat: A}", "did you mean 'date'?"),
        ("dates: lunar", "one of year-month-day"),
        ("column: {date: A}", "unknown key"),
    ],
)
def test_a_faulty_map_is_told(tmp_path: Path, mapping: str, words: str) -> None:
    path = tmp_path / "map.yml"
    path.write_text(mapping, encoding="utf-8")
    text, _, problems = bring_in(b"A,B\n1,2\n", "old.csv", path, KNOWN)
    assert text is None and any(words in str(p) for p in problems), problems


def test_every_phrase_means_a_family_or_a_part() -> None:
    parts = {slug(c) for c in KNOWN.components}
    assert [
        p for p, t in KNOWN.phrases.items() if KNOWN.resolve(t) not in KNOWN.families and slug(t) not in parts
    ] == []


@pytest.mark.parametrize(
    ("words", "family"),
    [
        ("No heat this morning", "no-ignition"),
        ("CO alarm went off", "co-odor"),
        ("furnace short cycles", "short-cycling"),
        ("Smells gas", "co-odor"),
        ("unheated attic", ""),  # no "no heat" inside another word
        ("", ""),
    ],
)
def test_words_of_a_note_mean_a_family(words: str, family: str) -> None:
    assert Matcher(KNOWN).family(words) == family


def test_notes_are_read_from_both_kinds_of_file(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text(
        "date,complaint,parts,job\n2026-01-09,no heat,igniter,4711\nsoon,x,,\n", encoding="utf-8"
    )
    (tmp_path / "b.yml").write_text("notes:\n  - {date: 2026-02-09, complaint: water, id: w1}\n", encoding="utf-8")
    notes, problems = read_notes(tmp_path, KNOWN)
    assert [(n.id, n.family, n.part_ids) for n in notes] == [
        ("w1", "water", ()), ("job-4711", "no-ignition", ("igniter",)), ("a-3", "", ()),
    ]  # fmt: skip
    assert len(problems) == 1 and "date 'soon'" in str(problems[0]) and problems[0].line == 3


def test_addresses_and_numbers_are_taken_out() -> None:
    assert unnamed("call (555) 123-4567 or a.b@c.example, 80,000 BTU, model 1234-5678-90") == (
        "call … or …, 80,000 BTU, model 1234-5678-90"
    )


def test_a_note_becomes_a_case(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "notes").mkdir()
    (tmp_path / "notes/a.csv").write_text(
        'date,complaint,done,job\n2026-01-09,no heat,"New ""HSI"", works",4711\n', encoding="utf-8"
    )
    assert main(["new", "--from", "job-4711"]) == 0
    case, problems = read_case(tmp_path / "casefiles/2026-01-09-job-4711", KNOWN)
    assert case is not None and not problems
    assert case.file.complaint.family == "no-ignition" and case.steps[0].step.do == 'New "HSI", works'
    assert main(["new", "--from", "job-4711"]) == 2  # it is there already
    assert main(["new", "--from", "job-1"]) == 2
    assert main(["new", "banana"]) == 2


@pytest.mark.parametrize("family", sorted(KNOWN.families))
def test_a_new_case_is_sound_and_so_is_every_line_of_it(tmp_path: Path, family: str) -> None:
    import datetime as dt

    text = blank(family, KNOWN, dt.date(2026, 1, 9))
    for name, filled in (("blank", text), ("filled", uncommented(text))):
        (tmp_path / name).mkdir()
        (tmp_path / name / "case.yml").write_text(filled, encoding="utf-8")
        case, problems = read_case(tmp_path / name, KNOWN)
        assert case is not None, problems
        assert bool(case.steps[0].readings) == (name == "filled")


def uncommented(text: str) -> str:
    lines = text.splitlines()
    body = [
        line.replace("          # ", "          ", 1) if line.startswith("          # ") else
        line[2:] if line.startswith(("# furnace", "# blower", "# filter", "# coil", "# site", "#   ")) else line
        for line in lines[1:]
    ]  # fmt: skip
    return "\n".join(body)


@pytest.mark.parametrize("reading", sorted(KNOWN.readings))
def test_every_reading_has_an_example_that_can_be(reading: str) -> None:
    known = KNOWN.readings[reading]
    kind = KINDS[known.kind]
    possible(parse(example(known), kind), kind, bounds_of(kind, within_of(reading, "heating")))
    assert example(known).startswith("-") or not known.suction
