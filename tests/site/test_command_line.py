"""The command line: every problem said, the documented JSON, a case cut short, the schemas."""

from __future__ import annotations

import json
import shutil

import jsonschema
import pytest
import yaml

from causebook.cli import MISUSED, OK, WRONG, main
from make_library import DEMO

CASE = str(DEMO / "narrow-return")


def test_check_says_every_problem_of_every_file(tmp_path, capsys):
    for id_ in ("narrow-return", "second-limit"):
        shutil.copytree(DEMO / id_, tmp_path / id_)
        path = tmp_path / id_ / "case.yml"
        path.write_text(
            path.read_text(encoding="utf-8")
            .replace("high-limit", "high-limitt", 1)
            .replace("made: 20", "made: x20", 1),
            encoding="utf-8",
        )
    assert main(["check", str(tmp_path)]) == WRONG
    said = capsys.readouterr()
    lines = said.out.splitlines()
    assert len(lines) == 4 and all("/case.yml:" in line for line in lines)
    assert "2 case files: 4 errors" in said.err


def test_check_of_the_demo_finds_nothing(demo, tmp_path, capsys):
    """Three cases by the command; a strict build of the demo (`demo`), which works each by the same function, is silent
    on all."""
    for id_ in ("narrow-return", "bent-flame", "summer-ice"):
        shutil.copytree(demo.root / "casefiles" / id_, tmp_path / id_)
    assert main(["check", str(tmp_path)]) == OK
    said = capsys.readouterr()
    assert said.out == "" and "3 case files: 0 errors, 0 to look at" in said.err


def test_check_takes_a_folder_a_file_and_what_is_not_there(tmp_path, capsys):
    assert main(["check", CASE, f"{CASE}/case.yml"]) == OK
    assert main(["check", str(tmp_path / "nothing")]) == WRONG
    assert "holds no case" in capsys.readouterr().out


def test_check_names_a_photo_that_the_build_cannot_publish(tmp_path, capsys):
    folder = shutil.copytree(DEMO / "narrow-return", tmp_path / "narrow-return")
    photo = next(p for p in sorted(folder.rglob("*")) if p.suffix in (".jpg", ".png", ".webp"))
    photo.write_text("no picture at all", encoding="utf-8")
    assert main(["check", str(folder)]) == WRONG
    said = capsys.readouterr()
    assert f"photo {photo.relative_to(folder)}: is not a picture that can be read" in said.out
    assert "case.yml:" in said.out and "1 error," in said.err


def test_work_prints_json_that_keeps_its_schema(capsys):
    assert main(["work", CASE, "--json"]) == OK
    work = json.loads(capsys.readouterr().out)
    main(["schema", "work"])
    jsonschema.validate(work, json.loads(capsys.readouterr().out))
    assert work["case"] == "narrow-return"


def test_work_never_reads_the_conclusion(tmp_path, capsys):
    main(["work", CASE, "--json"])
    with_conclusion = json.loads(capsys.readouterr().out)
    bare = tmp_path / "narrow-return"
    shutil.copytree(CASE, bare)
    data = yaml.safe_load((bare / "case.yml").read_text(encoding="utf-8"))
    for visit in data["visits"]:
        visit.pop("concluded", None)
    (bare / "case.yml").write_text(yaml.safe_dump(data, sort_keys=False, allow_unicode=True), encoding="utf-8")
    main(["work", str(bare), "--json"])
    without = json.loads(capsys.readouterr().out)
    assert [(c["id"], c["probability"]) for c in without["causes"]] == [
        (c["id"], c["probability"]) for c in with_conclusion["causes"]
    ]


def test_work_up_to_a_step_knows_only_what_was_known_then(capsys):
    main(["work", CASE, "--json"])
    whole = json.loads(capsys.readouterr().out)
    assert main(["work", CASE, "--json", "--upto", "3"]) == OK
    early = json.loads(capsys.readouterr().out)
    assert max(c["probability"] for c in early["causes"]) < max(c["probability"] for c in whole["causes"])
    assert main(["work", CASE, "--upto", "99"]) == MISUSED
    assert "steps 1 to" in capsys.readouterr().err


def test_next_lists_ranked_tests_with_reasons(capsys):
    assert main(["work", CASE, "--upto", "3", "--next"]) == OK
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("1. ") and "min" in lines[0] and lines[1].startswith("   ")


def test_next_says_first_which_notices_are_open(capsys):
    assert main(["work", str(DEMO / "bent-flame"), "--upto", "4", "--next"]) == OK
    said = capsys.readouterr().out
    assert "STOP USE: Cracked heat exchanger" in said and "\n1. " not in said, "nothing is left that it allows"
    assert "Tests it forbids are left out." in " ".join(said.split())
    assert main(["work", str(DEMO / "bent-flame"), "--next"]) == OK
    assert "STOP USE" not in capsys.readouterr().out, "all closed"


def test_work_of_a_broken_case_says_why_and_nothing_else(tmp_path, capsys):
    (tmp_path / "broken").mkdir()
    (tmp_path / "broken" / "case.yml").write_text("title: 3\n", encoding="utf-8")
    assert main(["work", str(tmp_path / "broken")]) == WRONG
    said = capsys.readouterr()
    assert said.out == "" and "case.yml" in said.err


def test_the_case_schema_accepts_the_demo(capsys):
    main(["schema"])
    schema = json.loads(capsys.readouterr().out)
    checker = jsonschema.Draft202012Validator(schema)
    for path in DEMO.glob("[!_.]*/case.yml"):
        # As editors see it: dates and words as text.
        data = yaml.load(path.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
        wrong = [e for e in checker.iter_errors(data) if e.validator in ("additionalProperties", "required")]
        assert not wrong, f"{path}: {wrong[0].message}"


@pytest.mark.parametrize("arguments", [[], ["work"], ["check"], ["dance"]])
def test_misuse_explains_itself(arguments, capsys):
    with pytest.raises(SystemExit) as left:
        main(arguments)
    assert left.value.code == MISUSED and "usage: causebook" in capsys.readouterr().err


def test_find_refuses_a_decimal_comma(capsys):
    assert main(["find", str(DEMO), "--read", "rise 82,5 degF"]) == MISUSED
    assert "write 82.5" in capsys.readouterr().err
