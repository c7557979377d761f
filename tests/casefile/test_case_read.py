"""A sound case becomes quantities, ids, steps, a log and a fan table; private data goes nowhere."""

from __future__ import annotations

import datetime as dt
import math
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from causebook import quantity as qty
from causebook.casefile import Case, read_case, read_cases
from causebook.casefile.model import Conclusion
from causebook.knowledge import Knowledge, load
from causebook.quantity import us

Edit = Callable[..., Path]


def sound(folder: Path, knowledge: Knowledge) -> Case:
    case, problems = read_case(folder, knowledge)
    assert case is not None and problems == [], "\n".join(map(str, problems))
    return case


def test_a_sound_case_has_no_problem_and_numbers_its_steps_over_all_visits(
    case_folder: Path, knowledge: Knowledge
) -> None:
    case = sound(case_folder, knowledge)
    assert case.id == "sound-case"
    assert [(step.number, step.visit) for step in case.steps] == [(1, 1), (2, 1), (3, 1), (4, 1), (5, 1), (6, 2)]
    assert case.steps[5].date == dt.date(2025, 1, 20)


def test_a_case_is_found_by_its_folder_and_by_its_file(case_folder: Path, knowledge: Knowledge) -> None:
    assert sound(case_folder, knowledge) == sound(case_folder / "case.yml", knowledge)


def test_readings_are_quantities_of_their_kind_with_their_line(case_folder: Path, knowledge: Knowledge) -> None:
    case = sound(case_folder, knowledge)
    readings = {taken.reading: taken for step in case.steps[:5] for taken in step.readings}
    assert us(readings["tap-before-filter"].value, qty.AIR_PRESSURE) == pytest.approx(-0.41)
    assert readings["time-to-trip"].value.to("s").magnitude == 380
    assert us(readings["rise"].value, qty.TEMPERATURE_DIFFERENCE) == pytest.approx(53)
    lines = (case_folder / "case.yml").read_text(encoding="utf-8").splitlines()
    assert all(name.replace("-", " ") in lines[taken.line - 1] for name, taken in readings.items())


def test_a_stated_accuracy_becomes_a_standard_uncertainty(case_folder: Path, knowledge: Knowledge) -> None:
    # Limits of a rectangular distribution divided by the root of three: JCGM 100:2008, 4.3.7 (from memory).
    taken = next(t for t in sound(case_folder, knowledge).steps[3].readings if t.reading == "tap-after-filter")
    assert taken.sd is not None
    assert us(taken.sd, qty.AIR_PRESSURE) == pytest.approx(0.01 / math.sqrt(3))


@pytest.mark.parametrize(("accuracy", "degrees"), [("2 degF", 2 / math.sqrt(3)), ("1 degC", 1.8 / math.sqrt(3))])
def test_the_accuracy_of_a_temperature_is_a_difference(
    edit: Edit, knowledge: Knowledge, accuracy: str, degrees: float
) -> None:
    folder = edit(("supply air: 121.0 degF", f"supply air: {{value: 121.0 degF, accuracy: {accuracy}}}"))
    taken = next(t for t in sound(folder, knowledge).steps[4].readings if t.reading == "supply-air")
    assert taken.sd is not None and taken.sd.to("delta_degF").magnitude == pytest.approx(degrees)


def test_an_accuracy_may_be_a_share_of_the_reading(edit: Edit, knowledge: Knowledge) -> None:
    folder = edit(("oxygen in flue: 8.1 %", "oxygen in flue: {value: 8.1 %, accuracy: 5 % of reading}"))
    taken = next(t for t in sound(folder, knowledge).steps[2].readings if t.reading == "oxygen-in-flue")
    assert taken.sd is not None
    assert us(taken.sd, qty.GAS_FRACTION) == pytest.approx(8.1 * 0.05 / math.sqrt(3))


def test_ids_and_states_have_their_one_form(case_folder: Path, knowledge: Knowledge) -> None:
    case = sound(case_folder, knowledge)
    assert case.steps[1].seen == {"filter-dirty": "no", "wheel-dirty": "no", "registers-closed": "unclear"}
    assert case.steps[4].step.with_ == {"filter": "removed", "return": "opened beside the furnace"}
    assert case.conclusion is not None and "return-undersized" in case.conclusion.root


def test_the_log_is_seconds_and_degrees_fahrenheit(case_folder: Path, knowledge: Knowledge) -> None:
    log = sound(case_folder, knowledge).steps[2].log
    assert log is not None
    assert log.seconds == pytest.approx((0, 180, 378))
    assert log.columns["supply-air"] == (68.0, 110.5, 141.0)
    assert log.columns["return-air"] == pytest.approx((68.0, 68.0, 68.0))
    assert (log.columns["burner"], log.columns["limit"]) == ((1, 1, 0), (0, 0, 1))


def test_the_fan_table_leaves_out_what_is_not_printed(case_folder: Path, knowledge: Knowledge) -> None:
    table = sound(case_folder, knowledge).fan_table
    assert table is not None
    assert table.curve("Medium") == ((0.1, 0.5), (1020.0, 890.0))
    assert table.curve("low") is None


def test_a_fan_table_may_stand_in_the_case_file(edit: Edit, knowledge: Knowledge) -> None:
    table = sound(
        edit(
            (
                "fan table: fan.csv",
                "fan table: {0.1 inH2O: {medium: 1020 cfm, high: 1180 cfm}, 125 Pa: {medium: 890 cfm, high: 1010 cfm}}",
            )
        ),
        knowledge,
    ).fan_table
    assert table is not None and table.static == pytest.approx((0.1, 0.5018), abs=1e-3)
    assert table.airflow["high"] == pytest.approx((1180, 1010))


def test_lists_of_one_need_no_dash(case_folder: Path, knowledge: Knowledge) -> None:
    case = sound(case_folder, knowledge)
    assert case.file.return_[0].size == "12 x 8 in"
    assert case.file.visits[1].open == ("The alarm is still to be fitted",)
    assert [(step.number, photo.marks[0].at) for step, photo in case.photos] == [(2, (0.5, 0.25))]


def test_a_blank_is_as_good_as_nothing_written(edit: Edit, knowledge: Knowledge) -> None:
    case = sound(edit(("wheel dirty: no", "wheel dirty: "), ("elevation: 620 ft", "elevation:")), knowledge)
    assert "wheel-dirty" not in case.steps[1].seen
    assert case.file.site.elevation is None


def test_words_that_yaml_would_guess_at_stay_words(edit: Edit, knowledge: Knowledge) -> None:
    case = sound(
        edit(
            ('title: "Burner stops in every long call: short of return air"', "title: 2011"),
            ('words: "It blows cool air every few minutes."', "words: no"),
            ("setting: medium", "setting: medium\n  instructed setting: high"),
        ),
        knowledge,
    )
    assert (case.file.title, case.file.complaint.words) == ("2011", "no")


def test_keys_may_be_written_with_hyphens_and_underscores(edit: Edit, knowledge: Knowledge) -> None:
    case = sound(
        edit(("heating value:", "heating_value:"), ("fan table:", "Fan-Table:"), ("helped by:", "helped_by:")),
        knowledge,
    )
    assert case.file.site.heating_value is not None and case.fan_table is not None
    assert case.conclusion is not None and case.conclusion.helped_by


def test_a_void_step_voids_its_readings(edit: Edit, knowledge: Knowledge) -> None:
    case = sound(
        edit(
            ("- do: Static at the taps", "- do: Static at the taps\n        void: hose was off"),
            ("- do: Watched one call", "- do: Watched one call\n        void: {oxygen_in_flue: probe was out}"),
        ),
        knowledge,
    )
    assert {taken.void for taken in case.steps[3].readings} == {"hose was off"}
    assert {t.reading: t.void for t in case.steps[2].readings} == {
        "time-to-trip": "",
        "oxygen-in-flue": "probe was out",
    }


def test_marks_lead_back_to_lines(case_folder: Path, knowledge: Knowledge) -> None:
    case = sound(case_folder, knowledge)
    lines = (case_folder / "case.yml").read_text(encoding="utf-8").splitlines()
    assert "tap after coil" in lines[case.line("visits.1.steps.4.read.tap-after-coil") - 1]
    assert case.line("visits.1.steps.4.read.nothing") == case.line("visits.1.steps.4.read")
    assert case.line("nowhere") == 0


def test_scripts_in_a_text_stay_text(edit: Edit, knowledge: Knowledge) -> None:
    text = "<script>alert(1)</script> [x](javascript:alert(1))"
    assert sound(edit(("It blows cool air every few minutes.", text)), knowledge).file.complaint.words == text


def test_the_trade_knowledge_reads_the_sound_case_as_the_small_one_does(
    case_folder: Path, knowledge: Knowledge
) -> None:
    assert sound(case_folder, load()) == sound(case_folder, knowledge)


# ---------------------------------------------------------------- many cases


def test_a_broken_case_never_stops_the_others(case_folder: Path, knowledge: Knowledge) -> None:
    cases = case_folder.parent
    for name in ("another", "_draft", ".hidden", "broken"):
        shutil.copytree(case_folder, cases / name)
    (cases / "broken" / "case.yml").write_text("title: [", encoding="utf-8")
    (cases / "no-case").mkdir()
    found, problems = read_cases(cases, knowledge)
    assert [case.id for case in found] == ["another", "sound-case"]
    assert {str(problem.path) for problem in problems} == {"broken/case.yml"}


def test_a_folder_that_is_not_there_is_a_problem(tmp_path: Path, knowledge: Knowledge) -> None:
    assert read_cases(tmp_path / "nothing", knowledge)[1][0].found == "there is no such folder"
    assert read_case(tmp_path / "nothing", knowledge)[0] is None


def test_messages_name_files_from_the_working_folder(
    edit: Edit, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = edit(("level: 2", "level: 9"))
    assert str(read_case(folder.resolve(), knowledge)[1][0]).startswith("sound-case/case.yml:7: study.level: '9'")
    monkeypatch.chdir(tmp_path_factory.mktemp("elsewhere"))
    assert str(read_case(folder.resolve(), knowledge)[1][0]).startswith(f"{folder.resolve()}/case.yml:7: ")


# ---------------------------------------------------------------- private data


def test_nothing_private_is_in_the_case(case_folder: Path, knowledge: Knowledge) -> None:
    case = sound(case_folder, knowledge)
    assert "Quillfeather" not in repr(case) and "0147" not in repr(case) and "private" not in case.marks


@pytest.mark.parametrize(
    "private",
    [
        "private: {name: Quillfeather, name: Quillfeather}",
        "private: {name: !secret Quillfeather}",
        "private: {? [Quillfeather] : x}",
        "private: {name: Quillfeather",
        "private: 'Quillfeather",
        "private:\n\tname: Quillfeather",
        "private: &Quillfeather {a: b}\ncompany: *Quillfeather",
        "private: *Quillfeather",
        "Private: Quillfeather",
        'private: "Quillfeather \\x"',
        "site: {private: Quillfeather}",
        "private: Quillfeather\nprivate: Quillfeather",
    ],
)
def test_nothing_private_is_in_a_message(case_folder: Path, knowledge: Knowledge, private: str) -> None:
    file = case_folder / "case.yml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text[: text.index("private:")] + private + "\nwrong: here\n", encoding="utf-8")
    case, problems = read_case(case_folder, knowledge)
    assert case is None and problems
    assert "Quillfeather" not in "".join(map(repr, problems))


# ---------------------------------------------------------------- the digest


def test_the_digest_is_of_what_a_page_can_show(edit: Edit, case_folder: Path, knowledge: Knowledge) -> None:
    first = sound(case_folder, knowledge).digest
    edit(("Quillfeather", "Marrowby"), ("# A made-up case", "# A case"), ("wheel dirty:", "wheel_dirty:"))
    assert sound(case_folder, knowledge).digest == first


@pytest.mark.parametrize("change", ["case.yml", "fan.csv", "logs/call.csv", "photos/return.png"])
def test_the_digest_changes_with_every_file(case_folder: Path, knowledge: Knowledge, change: str) -> None:
    first = sound(case_folder, knowledge).digest
    file = case_folder / change
    file.write_bytes(
        file.read_bytes().replace(b"121.0 degF", b"120.0 degF").replace(b"890", b"891").replace(b"110.5", b"110.6")
        + (b"x" if file.suffix == ".png" else b"")
    )
    assert sound(case_folder, knowledge).digest != first


FIRST = Conclusion(
    root={"vent-blocked": "nest"},
    helped_by={"draft-weak": "cold"},
    also_found=("Dryer vent off",),
    not_it={"hx-breach": "flame stood still"},
    would_settle="A sweep",
)


@pytest.mark.parametrize(
    ("later", "whole"),
    [
        # A repair visit that only ends a stop takes nothing back.
        (Conclusion(stop_closed="swept"), FIRST.model_copy(update={"stop_closed": "swept"})),
        # What was found beside it, and ruled out, is added to.
        (
            Conclusion(also_found=("No alarm",), not_it={"burner-dirty": "blue"}),
            FIRST.model_copy(
                update={
                    "also_found": ("Dryer vent off", "No alarm"),
                    "not_it": {"hx-breach": "flame stood still", "burner-dirty": "blue"},
                }
            ),
        ),
        # The same root again, better: its chain stands, and nothing is left to settle.
        (
            Conclusion(root={"vent-blocked": "swept, draft back"}),
            FIRST.model_copy(update={"root": {"vent-blocked": "swept, draft back"}, "would_settle": ""}),
        ),
        # Another root begins the chain anew, and may be what was once ruled out.
        (
            Conclusion(root={"hx-breach": "crack seen"}, not_it={"vent-blocked": "swept, and still"}),
            Conclusion(
                root={"hx-breach": "crack seen"},
                also_found=("Dryer vent off",),
                not_it={"vent-blocked": "swept, and still"},
            ),
        ),
        # A root that is ruled out later is none.
        (
            Conclusion(not_it={"vent-blocked": "clear"}),
            FIRST.model_copy(
                update={"root": {}, "not_it": {"hx-breach": "flame stood still", "vent-blocked": "clear"}}
            ),
        ),
    ],
)
def test_a_later_conclusion_takes_back_only_what_it_speaks_of(later: Conclusion, whole: Conclusion) -> None:
    assert FIRST.then(later) == whole


def test_the_conclusion_of_a_case_is_that_of_all_its_visits(edit: Edit, knowledge: Knowledge) -> None:
    again = "    open: The alarm is still to be fitted"
    case, _ = read_case(edit((again, f"    concluded: {{also found: A loose cleanout}}\n{again}")), knowledge)
    assert case is not None and case.conclusion is not None
    assert case.conclusion.also_found == ("No alarm in the hall", "A loose cleanout")
    assert "return-undersized" in case.conclusion.root and "coil-plugged" in case.conclusion.not_it
    assert case.place_of_root == "visits.1.concluded.root" and case.line(case.place_of_root) > 0


@pytest.mark.parametrize(("kind", "when"), [("follow-up", "follow-up"), ("callback", "")])
def test_what_is_read_on_a_follow_up_is_read_after_the_repair(
    edit: Edit, knowledge: Knowledge, kind: str, when: str
) -> None:
    """A visit that only looks whether the repair holds finds nothing anew; a callback does."""
    case, _ = read_case(
        edit(("  - date: 2025-01-20\n", f"  - date: 2025-01-20\n    kind: {kind}\n"), ("        after: repair\n", "")),
        knowledge,
    )
    assert case is not None and case.steps[5].step.after == when
