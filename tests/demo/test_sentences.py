"""Every sentence that the program writes for the demo, read for what a technician would stumble over."""

from __future__ import annotations

import functools
import re
from collections import Counter

import pytest
from systems import CASES

from causebook.casefile.read import read_cases
from causebook.knowledge import load
from causebook.knowledge.sentences import said, whole
from causebook.survey.model import State
from causebook.workup import Workup, work_up
from causebook.writeup.charts import charts_for
from causebook.writeup.charts.model import Chart
from causebook.writeup.customer import customer_page
from causebook.writeup.page import case_page, proof_page
from causebook.writeup.workit import work_page

KNOWN = load()
READ, _ = read_cases(CASES, KNOWN)
OLD = (
    "looked at above",
    "looked at below",
    "Looked for, not so",
    "Cleared:",
    "moved no belief",
    "not computed",
    "in neither",
    "Held against",
    "Easily taken for",
    "seen or told",
    "Not cleared here",
)
BRITISH = re.compile(
    r"\b(earth|mains|licence|telephone|colour|grey|analyser|galvanised|draught|plasterboard|cosy|neighbour\w*"
    r"|per cent|maker'?s?|roll-out|emergency services|gas supplier|whilst|de-energise\w*)\b"
)
PATTERNS = {
    "not ... no": re.compile(r"\b(not|never)\b[^.;:,()]{0,40}\b(no|nothing|nobody|none)\b", re.IGNORECASE),
    "a lower-cased initial": re.compile(r"\b(cO|eCM|pSC|gAS|nO|hVAC|lED)\b"),
    "an empty reason": re.compile(r"Why:\s*(</|$)|<dd></dd>|: \.(?:\s|<)"),
    "two periods": re.compile(r"[^.]\.\.(?:\s|<|$)"),
    "a placeholder": re.compile(r"\{(value|limit)\}|\[: |\[ \("),
}
NUMBER = re.compile(r"[−-]?\d[\d,]*(?:\.\d+)?")


@functools.cache
def workups() -> tuple[Workup, ...]:
    return tuple(work_up(case, KNOWN) for case in READ)


@functools.cache
def pages() -> tuple[tuple[str, str], ...]:
    """Name and text of every page of every case."""
    out = []
    for one in workups():
        charts = charts_for(one)
        made = {
            "case": case_page(one, charts=charts).markdown,
            "proof": proof_page(one, charts=charts).markdown,
            "work": work_page(one).markdown,
            "customer": customer_page(one).markdown,
            "charts": "\n".join(f"{c.question}\n{c.sentence}" for c in charts if isinstance(c, Chart)),
        }
        out += [(f"{one.case.id} {name}", text) for name, text in made.items()]
    return tuple(out)


def sentences(text: str) -> list[str]:
    """What is read, sentence by sentence."""
    plain = re.sub(r"&#(\d+);", lambda found: chr(int(found[1])), text.replace("\u00a0", " "))
    plain = re.sub(r"</(p|li|td|th|dt|dd|h\d|summary|caption|label|legend)>", "\n", plain)
    plain = re.sub(r"<[^>]+>", "", plain)
    return [one.strip() for one in re.split(r"\n+|(?<=[.!?])\s+", plain) if one.strip()]


def plain(text: str) -> str:
    """Letters and figures only."""
    return re.sub(r"\W+", "", text).lower()


@functools.cache
def authored() -> str:
    """All that the authors of the cases wrote, as letters and figures only."""
    return plain(" ".join(str(case.file.model_dump()) for case in READ))


@pytest.mark.parametrize("what", PATTERNS)
def test_no_page_has(what: str) -> None:
    found = [
        f"{name}: {one[:200]}"
        for name, text in pages()
        for one in (sentences(text) if what == "not ... no" else text.splitlines())
        if PATTERNS[what].search(one) and plain(one) not in authored()
    ]
    assert found == []


def test_the_old_frames_are_gone_and_the_words_are_american() -> None:
    for name, text in pages():
        assert [frame for frame in OLD if frame in text] == [], name
        assert [one[0] for one in BRITISH.finditer(re.sub(r"<[^>]+>", " ", text))] == [], name


def test_no_sentence_frame_of_the_program_stands_everywhere() -> None:
    """A frame is a sentence with its numbers and the names of what it is about taken out."""
    names = sorted(
        (e.name for part in (KNOWN.causes, KNOWN.readings, KNOWN.tests, KNOWN.findings) for e in part.values()),
        key=len,
        reverse=True,
    )
    pattern = re.compile("|".join(re.escape(name) for name in names))
    once = Counter(
        frame
        for name, text in pages()
        if name.endswith((" case", " customer"))
        for one in set(sentences(text))
        if plain(one) not in authored() and len(frame := NUMBER.sub("#", pattern.sub("*", one)).strip("*#:;., ")) > 60
    )
    assert {frame: count for frame, count in once.items() if count > 20} == {}


def test_no_value_stands_on_the_wrong_side_of_its_verdict() -> None:
    """What a finding says is present has its value beyond the bound in the direction of the finding, else within it."""
    wrong = []
    for one in workups():
        for found in one.survey.findings:
            known = KNOWN.findings[found.id]
            template = known.present if found.state is State.PRESENT else known.absent
            if found.state not in (State.PRESENT, State.ABSENT) or "{value}" not in template or not found.readings:
                continue
            numbers = [float(n.replace(",", "").replace("−", "-")) for n in NUMBER.findall(found.because)]
            bare = [float(n.replace(",", "")) for n in NUMBER.findall(re.sub(r"\{\w+\}", "", template))]
            left = list(numbers)
            for number in bare:
                if number in left:
                    left.remove(number)
            if len(left) != 2:
                continue
            value, limit = left if template.index("{value}") < template.find("{limit}") else left[::-1]
            below = known.id in BELOW
            beyond = value <= limit if below else value >= limit
            if beyond != (found.state is State.PRESENT) and known.id not in MARKED:
                wrong.append(f"{one.case.id}: {found.because}")
    assert wrong == []


BELOW = {
    "return-area-low", "supply-area-low", "rise-low", "rise-ok-at-trip", "return-cold", "airflow-low", "room-flow-low",
    "cooling-airflow-low", "motor-slow", "capacitor-low", "input-low", "manifold-below-plate", "gas-inlet-low",
    "oxygen-low", "suction-low", "flame-current-low", "speed-up-brings-range", "volts-low-at-motor",
}  # fmt: skip
"""Findings that are there below their bound."""
MARKED = {"limit-opens-low", "limit-stays-closed-hot"}
"""Findings whose second number is the marking, not the bound."""


def test_every_finding_has_two_sentences_that_differ() -> None:
    for known in KNOWN.findings.values():
        assert known.present and known.absent and known.present != known.absent, known.id
        for there in (True, False, None):
            for value, limit in (("", ""), ("1 V", "2 V")):
                text = said(known, there, value, limit)
                assert not re.search(r"[\[\]{}]", text) and text == text.strip(), (known.id, text)
        assert not PATTERNS["not ... no"].search(said(known, True)), known.id
        assert not PATTERNS["not ... no"].search(said(known, False)), known.id


def test_a_sentence_leaves_out_what_is_not_known() -> None:
    rise = KNOWN.findings["rise-high"]
    assert said(rise, True, "85 °F", "70 °F") == "Rise 85 °F is above the plate's maximum of 70 °F"
    assert said(rise, True) == "Rise is above the plate's maximum"
    assert (
        said(rise, None, "70 °F", "70 °F") == "Temperature rise above the plate: too close to call (70 °F, limit 70 °F)"
    )
    table = KNOWN.findings["airflow-below-table"]
    assert said(table, False, detail="850 cfm by rise") == "Airflow agrees with the fan table (850 cfm by rise)"
    assert [whole(text) for text in ("70.0 °F", "0.20 in. w.c.", "100.0", "70.5 °F")] == [
        "70 °F", "0.20 in. w.c.", "100", "70.5 °F",
    ]  # fmt: skip
