"""The customer's page: plain words, no ids, safety first."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
import sample
from worked import Outline, closed, html, with_file, worked

from causebook.casefile.model import Outcome
from causebook.workup import Workup
from causebook.writeup.page import customer_page

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
    assert JARGON.findall(text) == []
    assert not re.search(r"\bstep \d", text)


def test_it_says_what_was_noticed_found_and_proven() -> None:
    text = shown(worked())
    for said in (
        "It heats, goes cold for a bit",
        "could not get enough air back",
        "55 °F",
        "30 to 60 °F",
        "36 % more air",
        "it burned without a break",
        "Harrow Ridge Heating",
    ):
        assert said in text, said


def test_without_the_authors_words_it_still_says_what_was_found() -> None:
    assert "The cause: Undersized return. It was made worse by: Filter too restrictive." in shown(
        with_file(worked(), customer="")
    )
    assert "not yet found the cause for certain" in shown(with_file(worked(sample.sparse()), customer=""))


def test_a_reading_still_beyond_the_makers_figure_is_not_kept_quiet() -> None:
    base = worked()
    text = shown(base)
    assert "nothing else we know of spoke against using it." in text
    assert "One reading is still beyond the maker's figure. Please ask us about it." in text
    wide = base.case.file.furnace.model_copy(update={"static_maximum": sample.inwc(0.66)})
    kept = shown(with_file(base, furnace=wide))
    assert "nothing we know of spoke against using it." in kept and "still beyond" not in kept


def test_an_open_stop_comes_first_and_no_outcome_overrides_it() -> None:
    for outcome in Outcome:
        page = customer_page(with_file(worked(sample.stopped()), outcome=outcome))
        assert re.findall(r"^## (.*)$", page.markdown, re.MULTILINE)[0] == "Please do not use it"
        assert "this furnace must not run" in page.markdown
        assert "taken out of service" in page.markdown
        assert "spoke against using it" not in page.markdown
        assert page.meta["causebook"]["stop"] is True


def test_a_closed_stop_is_not_kept_quiet() -> None:
    text = shown(closed(with_file(worked(sample.stopped()), outcome=Outcome.CORRECTED)))
    assert "Please do not use it" not in text
    assert "out of service for a time. That has ended: Burner put right, test repeated on 20 February." in text


@pytest.mark.parametrize("outcome", [Outcome.UNDETERMINED, Outcome.LIKELY, Outcome.NOT_CORRECTED])
def test_an_unfinished_case_never_sounds_finished(outcome: Outcome) -> None:
    text = shown(with_file(replace(worked(), after=()), outcome=outcome))
    assert "put right and measured again" not in text
    assert "Follow what your technician told you" in text


def test_every_customer_is_told_what_to_do_about_gas_and_carbon_monoxide() -> None:
    for made in ALL:
        assert "carbon monoxide sounds" in shown(worked(made()))
