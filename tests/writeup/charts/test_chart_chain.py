"""Cause chain: the story in order, how each arrow is known, and the layout behind it."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
import sample
from drawing import Drawing, read
from hypothesis import given
from hypothesis import strategies as st
from worked import demo

from causebook.belief.verdict import Role
from causebook.workup import Workup
from causebook.writeup.charts import Chart, Missing, chain
from causebook.writeup.charts.layers import layered


def drawn(workup: Workup) -> tuple[Chart, Drawing, Drawing]:
    chart = chain.chart(workup)
    assert isinstance(chart, Chart)
    return chart, read(chart.svg_wide), read(chart.svg_narrow)


def test_tells_the_story_in_two_sentences() -> None:
    assert drawn(sample.workup())[0].sentence == (
        "Cause: undersized return; contributing: filter too restrictive; underlying: coil added, return left alone. "
        "What followed: too little air (695 cfm, 864 needed at least; static 0.96 in. w.c., rated 0.50), rise 74.6 °F "
        "(plate: 30 to 60 °F), high limit opens (8:40 after lighting)."
    )


def test_boxes_run_left_to_right_and_on_a_phone_downwards() -> None:
    _, wide, narrow = drawn(sample.workup())
    roles = ["underlying", "cause", "what it does", "complaint"]
    across = [wide.word(r).x for r in roles]
    down = [narrow.word(r).y for r in roles]
    assert across == sorted(across) and down == sorted(down)


def test_helper_joins_below_the_root() -> None:
    _, wide, _ = drawn(sample.workup())
    assert wide.word("contributing").x == wide.word("cause").x
    assert wide.word("contributing").y > wide.word("cause").y


def test_every_arrow_says_how_it_is_known() -> None:
    chart, _, _ = drawn(sample.workup())
    assert {row[0]: row[3] for row in chart.table[1:6]} == {
        "underlying": "judgment",
        "cause": "reading",
        "contributing": "reading",
        "what it does": "calculation",
        "reading": "reading",
    }


def test_without_the_drop_a_root_is_known_by_calculation_only() -> None:
    base = sample.workup()
    bare = replace(base.survey.sets[0], drops=())
    chart, _, _ = drawn(sample.with_sets(base, bare, *base.survey.sets[1:]))
    assert next(row for row in chart.table if row[0] == "cause")[3] == "calculation"


def test_ruled_out_suspects_are_struck_with_their_reason() -> None:
    for drawing in drawn(sample.workup())[1:]:
        assert [w.words for w in drawing.words if w.struck] == [
            "Manifold pressure too high",
            "Coil plugged",
            "Limit opens too low",
        ]
        assert drawing.says("opened at 194 °F, marked 195")


def test_damage_leaves_upwards() -> None:
    _, wide, _ = drawn(sample.with_damage())
    assert wide.word("damage done").y < wide.word("what it does").y
    assert wide.says("Limit tired by thousands of openings") and wide.says("Heat exchanger cracked")


def test_only_the_root_has_the_accent() -> None:
    for drawing in drawn(sample.with_damage())[1:]:
        assert [w.words for w in drawing.words if w.accent] == ["cause"]
        assert len(drawing.lines("--cb-accent")) == 1


def test_fault_outside_the_air_path_goes_from_root_to_what_decided_it() -> None:
    base = sample.sparse()
    causes = (replace(base.verdict.causes[0], id="bond-loose", name="Bond screw loose", role=Role.ROOT),)
    verdict = replace(
        base.verdict, causes=causes, answered=True, decided_by="Flame current rose from 0.4 to 3.6 µA once bonded."
    )
    chart, _, _ = drawn(replace(base, verdict=verdict))
    assert [row[0] for row in chart.table[1:]] == ["underlying", "cause", "what decided it", "complaint"]
    assert chart.sentence.endswith("What decided it: flame current rose from 0.4 to 3.6 µA once bonded.")


def test_a_weak_limit_is_shown_by_its_own_reading_not_by_the_rise() -> None:
    base = sample.workup()
    limit = replace(base.verdict.causes[-1], role=Role.ROOT)
    chart, _, _ = drawn(replace(base, verdict=replace(base.verdict, causes=(limit,))))
    assert "limit opens early, limit opened at 194 °F (marked 195 °F)" in chart.sentence


def test_only_what_was_ruled_out_with_a_reason_is_struck() -> None:
    base = sample.workup()
    causes = tuple(replace(c, why="") if c.id == "coil-plugged" else c for c in base.verdict.causes)
    _, wide, _ = drawn(replace(base, verdict=replace(base.verdict, causes=causes)))
    assert [w.words for w in wide.words if w.struck] == ["Manifold pressure too high", "Limit opens too low"]


def test_what_is_only_most_believed_begins_no_chain() -> None:
    base = sample.workup()
    assert base.verdict.with_role(Role.ROOT)
    assert isinstance(chain.chart(replace(base, verdict=replace(base.verdict, answered=False))), Missing)


def test_damage_that_brought_the_complaint_stands_in_the_line() -> None:
    """Metal that is too hot cracks, and the crack makes the carbon monoxide (common practice, no source)."""
    roles = {"furnace-too-big-for-ducts": Role.ROOT, "hx-breach": Role.DAMAGE}  # as the job was concluded
    base = demo("bent-flame")
    causes = tuple(replace(c, role=roles[c.id]) for c in base.verdict.causes if c.id in roles)
    chart, _, _ = drawn(replace(base, verdict=replace(base.verdict, causes=causes, answered=True)))
    assert [row[0] for row in chart.table[1:] if row[0] != "not it"] == [
        "cause",
        "what it does",
        "what followed",
        "damage done",
        "complaint",
    ]
    leads = {row[1]: row[2] for row in chart.table[1:]}
    assert leads["Metal too hot"].startswith("Cracked heat exchanger") and leads["Cracked heat exchanger"]
    assert "1,084 cfm, 1,269 needed at least; static 0.92 in. w.c., rated 0.50" in chart.table[2][1]


def test_a_cooling_coil_needs_its_own_airflow() -> None:
    """350 cfm for each of 2.5 tons (standard: title-24)."""
    assert "875 needed at least" in drawn(demo("summer-ice"))[0].sentence


def test_reasons_for_clearing_have_their_own_column() -> None:
    chart, _, _ = drawn(sample.workup())
    assert chart.table[0][2:] == ("Leads to", "Known by", "Cleared by")
    assert all(row[2] == "" and row[4] for row in chart.table if row[0] == "not it")


def test_no_root_no_chain() -> None:
    missing = chain.chart(sample.sparse())
    assert isinstance(missing, Missing) and missing.why == "not drawn: no root is settled"


# ---------------------------------------------------------------- the layout


def crossings(layers: list[list[str]], edges: list[tuple[str, str]]) -> int:
    place = {n: i for layer in layers for i, n in enumerate(layer)}
    level = {n: i for i, layer in enumerate(layers) for n in layer}
    return sum(
        level[a] == level[c] and level[b] == level[d] and (place[a] - place[c]) * (place[b] - place[d]) < 0
        for (a, b), (c, d) in pairwise_all(edges)
    )


def pairwise_all(edges: list[tuple[str, str]]) -> list[tuple[tuple[str, str], tuple[str, str]]]:
    return [(e, f) for n, e in enumerate(edges) for f in edges[n + 1 :]]


@given(st.lists(st.tuples(st.integers(0, 7), st.integers(0, 7)), max_size=14))
def test_arrows_always_lead_to_a_later_layer(pairs: list[tuple[int, int]]) -> None:
    nodes = [f"n{i}" for i in range(8)]
    edges = sorted({(f"n{min(p)}", f"n{max(p)}") for p in pairs if p[0] != p[1]})
    layers = layered(nodes, edges)
    level = {n: i for i, layer in enumerate(layers) for n in layer}
    assert sorted(level) == nodes
    assert all(level[a] < level[b] for a, b in edges)
    # longest path: every node that leads on has a successor in the very next layer
    for node in nodes:
        later = [level[b] for a, b in edges if a == node]
        assert not later or min(later) == level[node] + 1


def test_two_crossed_arrows_are_uncrossed() -> None:
    edges = [("a", "d"), ("b", "c")]
    layers = layered(["a", "b", "c", "d"], edges)
    assert crossings([["a", "b"], ["c", "d"]], edges) == 1
    assert crossings(layers, edges) == 0


def test_a_circle_of_arrows_is_refused() -> None:
    with pytest.raises(ValueError, match="circle"):
        layered(["a", "b"], [("a", "b"), ("b", "a")])


def test_a_chain_keeps_its_order() -> None:
    names = ["u", "r", "d", "m", "c"]
    assert layered(names, list(pairwise(names))) == [[n] for n in names]
