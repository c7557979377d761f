"""For and against: words for weights, rows in the order done, and the belief that came of it."""

from __future__ import annotations

from dataclasses import replace

import pytest
import sample
from drawing import read

from causebook.workup import Workup
from causebook.writeup import words
from causebook.writeup.charts import Chart, evidence


def drawn(workup: Workup) -> Chart:
    chart = evidence.chart(workup)
    assert isinstance(chart, Chart)
    return chart


@pytest.mark.parametrize(
    ("decibans", "said"),
    [
        (13.5, "strong for"),
        (10.0, "strong for"),
        (9.9, "clear for"),
        (3.0, "clear for"),
        (2.9, "weak for"),
        (0.9, "no view"),
        (0.0, "no view"),
        (-0.9, "no view"),
        (-1.0, "weak against"),
        (-9.4, "clear against"),
        (-14.2, "strong against"),
    ],
)
def test_weights_become_three_words(decibans: float, said: str) -> None:
    assert evidence.cell(decibans).words == said


def test_longer_bars_weigh_more() -> None:
    assert [evidence.cell(d).strength for d in (0.5, 2.0, 7.0, 20.0)] == [0, 1, 2, 3]


def test_rows_stand_in_the_order_done() -> None:
    chart = drawn(sample.workup())
    assert [row[0].partition(".")[0] for row in chart.table[1:-1]] == ["2", "3", "4", "5", "6", "7", "8"]
    narrow = read(chart.svg_narrow)
    places = [narrow.word(str(n)).y for n in range(2, 9)]
    assert places == sorted(places)


def test_cells_say_what_the_step_says() -> None:
    table = drawn(sample.workup()).table
    assert table[0][2:] == ("Undersized return", "Filter too restrictive", "Coil plugged")
    taps = next(row for row in table if row[0].startswith("4."))
    assert taps[2:] == (
        "strong for, belief then 0.86",
        "strong for, belief then 0.91",
        "strong against, belief then 0.01",
    )


def test_one_scale_of_words_in_chart_and_steps() -> None:
    for decibans in (1.5, 4.1, 12.0):
        assert words.weight(decibans).startswith(evidence.cell(decibans).word)


def test_the_step_that_decided_carries_the_accent() -> None:
    """The same as in the answer box, whatever finding stands first in its row."""
    base = sample.workup()
    decided = replace(base.verdict, decided_by="Static at the taps: return drop 0.37 in. w.c.")
    chart = drawn(replace(base, verdict=decided))
    wide = read(chart.svg_wide)
    assert len(wide.lines("--cb-accent")) == 3  # three blocks: strong
    assert wide.word("Static at the taps").bold
    assert chart.sentence.startswith("Step 4 (return drop 0.37 in. w.c.) is the most direct evidence for undersized ")


def test_sentence_ends_with_the_belief_in_each_suspect() -> None:
    assert drawn(sample.workup()).sentence.endswith(
        "n the end undersized return is settled (0.99) and filter too restrictive is likely (0.94), and the other "
        "suspect here is unlikely or ruled out."
    )


def test_no_belief_is_shown_as_complete() -> None:
    base = sample.workup()
    sure = tuple(replace(c, probability=1.0 if n == 0 else 0.0) for n, c in enumerate(base.verdict.causes))
    chart = drawn(replace(base, verdict=replace(base.verdict, causes=sure)))
    assert chart.table[-1][2:4] == ("settled over 0.99", "likely under 0.01")


def test_who_was_never_a_serious_suspect_has_no_column() -> None:
    base = sample.workup()
    assert max(step.after["manifold-high"] for step in base.verdict.steps) < 0.10
    assert "Manifold pressure too high" not in drawn(base).table[0]


def test_steps_that_told_nothing_have_no_row() -> None:
    base = sample.workup()
    mute = replace(base.verdict.steps[0], weights=(sample.Weight("return-undersized", 0.4),))
    chart = drawn(replace(base, verdict=replace(base.verdict, steps=(mute, *base.verdict.steps[1:]))))
    assert chart.table[1][0].startswith("3.")


def test_suspects_are_few_and_the_believed_are_kept() -> None:
    base = sample.workup()
    many = tuple(replace(base.verdict.causes[-1], id=f"other-{n}", name=f"Other {n}") for n in range(6))
    weights = tuple(sample.Weight(c.id, -30.0) for c in many)
    step = replace(
        base.verdict.steps[2],
        weights=(*base.verdict.steps[2].weights, *weights),
        after={**base.verdict.steps[2].after, **{c.id: 0.5 for c in many}},
    )
    verdict = replace(
        base.verdict,
        causes=(*base.verdict.causes, *many),
        steps=(*base.verdict.steps[:2], step, *base.verdict.steps[3:]),
    )
    heads = drawn(replace(base, verdict=verdict)).table[0][2:]
    assert len(heads) == evidence.SUSPECTS
    assert heads[:2] == ("Undersized return", "Filter too restrictive")


def test_what_was_present_is_told_before_what_was_absent_and_no_more_than_three() -> None:
    base = sample.workup()
    absent = sample.Spoke("x", sample.State.ABSENT, "coil not matted")
    step = replace(base.verdict.steps[2], evidence=(absent, *base.verdict.steps[2].evidence))
    verdict = replace(base.verdict, steps=(*base.verdict.steps[:2], step, *base.verdict.steps[3:]))
    row = next(r for r in drawn(replace(base, verdict=verdict)).table if r[0].startswith("4."))
    assert row[1] == "return drop 0.37 in. w.c.; filter drop 0.33; coil drop 0.11"
