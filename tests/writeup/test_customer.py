"""The customer's page: plain words, no ids, safety first."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
import sample
from worked import Outline, closed, html, with_file, worked

from causebook.casefile.model import Outcome
from causebook.workup import Workup
from causebook.writeup.customer import customer_page

ALL = [sample.workup, sample.stopped, sample.sparse, sample.off_the_fan_line]
JARGON = re.compile(r"\b(static|w\.c\.|cfm|Btu|decibans?|limit switch|plenum|suspect|belief|case\.yml)\b")


def shown(workup: Workup) -> str:
    """Everything a reader of the page reads."""
    made = html(customer_page(workup).markdown).replace("\u00a0", " ")
    return " ".join(text for _, text in Outline(made).texts)


@pytest.mark.parametrize("made", ALL)
def test_no_ids_and_no_jargon(made) -> None:
    base = worked(made())
    text = shown(base)
    ids = {*base.knowledge.causes, *base.knowledge.findings, *base.knowledge.readings, base.case.id}
    assert [id_ for id_ in ids if "-" in id_ and id_ in text] == []
    own = " ".join(base.case.file.visits[-1].open)  # told in the words of whoever wrote it
    assert [word for word in JARGON.findall(text) if word not in own] == []
    assert not re.search(r"\bstep \d", text)


def test_it_says_what_was_noticed_found_and_proven() -> None:
    text = shown(worked())
    for said in (
        "It heats, goes cold for a bit",
        "could not get enough air back",
        "55 °F",
        "30 to 60 °F",
        "36 % more air",
        "it burns without a break",
        "Harrow Ridge Heating",
    ):
        assert said in text, said


def test_without_the_authors_words_it_still_says_what_was_found() -> None:
    assert "The cause: Undersized return. It was made worse by: Filter too restrictive." in shown(
        with_file(worked(), customer="")
    )
    assert "The cause is not proven yet." in shown(with_file(worked(sample.sparse()), customer=""))


def test_the_first_line_says_fixed_not_yet_or_off() -> None:
    assert re.search(r"Fixed\.\s+We repaired it", shown(worked()))
    for outcome in Outcome:
        page = customer_page(with_file(worked(sample.stopped()), outcome=outcome))
        lines = [line for line in page.markdown.splitlines() if line]
        assert "Off, do not use." in lines[1] and "this furnace must not run" in lines[1]
        assert "We repaired it" not in page.markdown
        assert page.meta["causebook"]["stop"] is True


def test_a_closed_stop_is_not_kept_quiet() -> None:
    text = shown(closed(with_file(worked(sample.stopped()), outcome=Outcome.CORRECTED)))
    assert "Off, do not use" not in text and "out of service for a time" in text


@pytest.mark.parametrize("outcome", [Outcome.UNDETERMINED, Outcome.LIKELY, Outcome.NOT_CORRECTED])
def test_an_unfinished_case_never_sounds_finished(outcome: Outcome) -> None:
    text = shown(with_file(replace(worked(), after=()), outcome=outcome))
    assert "Not fixed yet." in text and "We repaired it" not in text


def test_what_is_open_stands_in_so_many_words() -> None:
    base = worked()
    last = base.case.file.visits[-1].model_copy(update={"open": ("A wider filter comes in May.",)})
    text = shown(with_file(base, visits=(*base.case.file.visits[:-1], last)))
    assert "Still open" in text and "A wider filter comes in May." in text


def test_the_customer_sees_us_units_only() -> None:
    text = shown(worked())
    assert "°F" in text and not re.search(r"\d\s*(°C|K|Pa|L/s)\b", text)


def test_every_customer_is_told_what_to_do_about_gas_and_carbon_monoxide() -> None:
    for made in ALL:
        assert "CO alarm sounds" in shown(worked(made()))
