"""The reasoning of a case as plain text."""

from __future__ import annotations

from dataclasses import replace

import pytest
import sample
from worked import with_file, with_step, worked

from causebook.writeup.terminal import WIDTH, as_text


@pytest.mark.parametrize("made", [sample.workup, sample.stopped, sample.sparse, sample.off_the_fan_line])
def test_plain_text_of_ninety_columns(made) -> None:
    text = as_text(worked(made()))
    assert WIDTH == 90
    assert [line for line in text.splitlines() if len(line) > WIDTH or line != line.rstrip()] == []
    assert "<span" not in text and "cb-" not in text


def test_each_step_says_what_was_done_read_and_how_belief_moved() -> None:
    text = " ".join(as_text(worked()).split())
    for said in (
        "4. Static at the taps (14 min)",
        "why One map splits filter, return, coil and supply",
        "tap before filter: −0.37 in. w.c. (−92 Pa)",
        "expected If the filter is the whole story",
        "Undersized return: 36 % -> 86 %, strongly for (+13.5)",
        "(void: bare galvanized metal mirrors the room)",
        "cause Undersized return",
        "contributing Filter too restrictive",
        "found in 1 h 39 min",
        "ordinary clean filter, old return",
        "Flow grid at the filter slot (15 min, risk low)",
    ):
        assert said in text, said


def test_stops_come_before_the_steps_and_the_answer_after_them() -> None:
    text = as_text(worked(sample.stopped()))
    assert text.index("STOP USE: Heat exchanger suspected open") < text.index("STEP BY STEP") < text.index("ANSWER")
    assert text.index("CAUTION, Gas") < text.index("5. Clocked")


def test_what_was_put_out_of_use_is_told_with_how_it_ended() -> None:
    base = worked()
    first, last = base.case.file.visits
    own = first.concluded.model_copy(update={"stop": "Burner *off*", "stop_closed": "set in, proven"})
    text = " ".join(as_text(with_file(base, visits=(first.model_copy(update={"concluded": own}), last))).split())
    assert "out of use Burner off. How it ended: set in, proven. OK to run?" in text
    assert "External static 0.66 in. w.c., at most 0.50 in. w.c." in text


def test_undetermined_names_the_suspects_and_what_would_settle_it() -> None:
    text = as_text(worked(sample.sparse()))
    assert "not proven yet; most likely:" in text
    assert "WHAT WOULD SETTLE IT" in text and "static at the taps" in text


def test_case_text_loses_its_marks_not_its_words() -> None:
    text = as_text(with_step(worked(), 1, do="*Checked* <b>for</b> gas", told="**nothing** found"))
    assert "Checked <b>for</b> gas" in text and "told nothing found" in " ".join(text.split())


def test_sections_without_data_are_left_out() -> None:
    base = worked()
    bare = replace(base, options=(), after=(), problems=(), verdict=replace(base.verdict, what_ifs=(), next_tests=()))
    text = as_text(bare)
    for heading in (
        "FIXES CONSIDERED",
        "AFTER THE REPAIR",
        "TO LOOK AT IN THE CASE FILE",
        "WHAT IF",
        "CHECK THIS NEXT",
    ):
        assert heading in as_text(base) and heading not in text
