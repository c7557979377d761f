"""What every chart must keep: theme colors, ids, sizes, words inside the sheet and clear of each other, same bytes."""

from __future__ import annotations

import re
import subprocess
import sys
from collections import Counter
from itertools import combinations

import pytest
import sample
from drawing import read

from causebook.writeup.charts import Chart, Missing, charts_for
from causebook.writeup.charts.style import Scale, Sheet, clock, joined, mid_sentence, number, text_width, wrap

VARIANTS = (
    "workup",
    "without_tap_before_coil",
    "off_the_fan_line",
    "coil_matted",
    "bent_flame",
    "cold_room",
    "with_damage",
    "stopped",
)
DRAWN = {name: [c for c in charts_for(getattr(sample, name)()) if isinstance(c, Chart)] for name in VARIANTS}
SVGS = [
    pytest.param(svg, id=f"{name}-{c.id}-{how}")
    for name, charts in DRAWN.items()
    for c in charts
    for how, svg in (("wide", c.svg_wide), ("narrow", c.svg_narrow))
]


@pytest.mark.parametrize("svg", SVGS)
def test_takes_every_color_from_the_page(svg: str) -> None:
    assert not re.search(r"#[0-9a-fA-F]{3,8}\b(?!\")", re.sub(r"url\(#[^)]*\)", "", svg))
    assert set(re.findall(r"var\((--[\w-]+)", svg)) <= {
        "--cb-ink",
        "--cb-paper",
        "--cb-accent",
        "--cb-quiet",
        "--cb-hatch",
        "--cb-font",
    }


@pytest.mark.parametrize("svg", SVGS)
def test_is_named_and_described_for_screen_readers(svg: str) -> None:
    root = read(svg).root
    assert root.get("role") == "img"
    named = {e.get("id"): e.text for e in root if e.tag.endswith(("title", "desc"))}
    assert list(named) == root.get("aria-labelledby", "").split()
    assert all(named.values())


@pytest.mark.parametrize("svg", SVGS)
def test_carries_nothing_that_leaks_into_the_page(svg: str) -> None:
    assert svg.startswith("<svg ") and svg.endswith("</svg>")
    for unwanted in ("<style", "<script", "<metadata", "<!DOCTYPE", "<?xml", "xlink", "dc:date"):
        assert unwanted not in svg


@pytest.mark.parametrize("svg", SVGS)
def test_words_are_12_px_or_more_where_it_is_shown(svg: str) -> None:
    # narrow: at 360 px with 20 px to each side; wide: from a column of 680 px on
    drawing = read(svg)
    shown = 320 if drawing.width < 500 else 680
    assert min(w.size for w in drawing.words) * shown / drawing.width >= 12


@pytest.mark.parametrize("svg", SVGS)
def test_words_stand_inside_the_sheet(svg: str) -> None:
    drawing = read(svg)
    out = [
        w.words
        for w in drawing.words
        if w.left < -1 or w.right > drawing.width + 1 or w.y - w.size * 0.8 < -1 or w.y > drawing.height
    ]
    assert not out


@pytest.mark.parametrize("svg", SVGS)
def test_words_do_not_cover_each_other(svg: str) -> None:
    def cover(a: float, b: float, c: float, d: float) -> float:
        return min(b, d) - max(a, c)

    # widths are those of a wide font, heights from cap to baseline; 3 px of overlap in both is no collision yet
    hits = [
        (a.words, b.words)
        for a, b in combinations(read(svg).words, 2)
        if cover(a.left, a.right, b.left, b.right) > 3 and cover(a.y - 0.75 * a.size, a.y, b.y - 0.75 * b.size, b.y) > 3
    ]
    assert not hits


def test_ids_are_unique_over_all_charts_of_a_page() -> None:
    page = "".join(c.svg_wide + c.svg_narrow for c in DRAWN["workup"])
    counts = Counter(re.findall(r'\bid="([^"]+)"', page))
    assert max(counts.values()) == 1
    assert all(id_.startswith("cb-") for id_ in counts)
    used = set(re.findall(r"url\(#([^)]+)\)", page)) | set(re.findall(r'href="#([^"]+)"', page))
    assert used <= set(counts)


def test_same_workup_gives_the_same_bytes() -> None:
    again = [c for c in charts_for(sample.workup()) if isinstance(c, Chart)]
    assert again == DRAWN["workup"]


def test_same_bytes_in_another_process() -> None:
    program = (
        "import sys, hashlib; sys.path.insert(0, sys.argv[1]); import sample\n"
        "from causebook.writeup.charts import charts_for\n"
        "print(hashlib.sha256(repr(charts_for(sample.workup())).encode()).hexdigest())"
    )
    runs = {
        subprocess.run(
            [sys.executable, "-c", program, str(sample.__file__).removesuffix("sample.py")],
            capture_output=True,
            encoding="utf-8",
            check=True,
            env={"PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2")
    }
    assert len(runs) == 1


def test_pyplot_is_never_loaded() -> None:
    program = "import sys, causebook.writeup.charts; sys.exit('matplotlib.pyplot' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", program]).returncode == 0


def test_order_of_the_page() -> None:
    assert [c.id for c in charts_for(sample.workup())] == [
        "cause-chain",
        "air-path",
        "air-path-at-one-airflow",
        "blower-and-duct",
        "run-log",
        "one-change",
        "for-and-against",
        "return-sizing",
        "gas-check",
    ]


def test_every_chart_answers_its_question_in_sentences_and_has_its_table() -> None:
    for chart in (c for charts in DRAWN.values() for c in charts):
        assert chart.question.endswith("?") and chart.sentence.endswith(".") and chart.sentence[0].isupper()
        assert len(chart.table) > 1
        assert {len(row) for row in chart.table} == {len(chart.table[0])}


def test_what_is_not_drawn_says_why() -> None:
    missing = charts_for(sample.sparse())
    assert all(isinstance(c, Missing) for c in missing)
    assert {c.id: c.why for c in missing if isinstance(c, Missing)} == {
        "cause-chain": "not drawn: no root is settled",
        "air-path": "not drawn: no pressure was read along the air path",
        "blower-and-duct": "not drawn: the case has no fan table",
        "run-log": "not drawn: no temperatures were logged over a run",
        "one-change": "not drawn: no change was tried or calculated",
        "for-and-against": "not drawn: nothing read or seen speaks for one cause against another",
        "return-sizing": "not drawn: the airflow the return must carry is not known",
        "gas-check": "not drawn: the gas was not clocked",
    }


def test_words_are_escaped() -> None:
    sheet = Sheet("cb-x", 320)
    sheet.text(10, 20, "<b>&</b>")
    svg = sheet.svg('a "title" <script>', "a & b")
    drawing = read(svg)
    assert drawing.words[0].words == "<b>&</b>"
    assert drawing.root[0].text == 'a "title" <script>'


def test_numbers_are_written_for_people() -> None:
    assert number(-0.004, 2) == "0.00"
    assert number(-0.37, 2) == "−0.37"
    assert number(0.26, 2, sign=True) == "+0.26"
    assert number(1184.6) == "1,185"
    assert clock(520.4) == "8:40"
    assert joined(["return", "filter", "coil"]) == "return, filter and coil"
    assert joined(["return"]) == "return"
    assert mid_sentence("Undersized return") == "undersized return"
    assert mid_sentence("CO alarm") == "CO alarm"


def test_wrapped_words_fit_and_none_is_lost() -> None:
    words = "Supply plenum, ducts and registers of the old house"
    rows = wrap(words, 120, 13)
    assert " ".join(rows) == words and max(text_width(r, 13) for r in rows) <= 120
    cut = wrap(words, 120, 13, lines=2)
    assert len(cut) == 2 and cut[-1].endswith("…") and text_width(cut[-1], 13) <= 120


def test_ticks_are_round_and_inside_also_on_a_scale_that_runs_down() -> None:
    assert Scale(0.5, -0.75, 0, 100).ticks(7) == pytest.approx([-0.6, -0.4, -0.2, 0.0, 0.2, 0.4])
    assert Scale(60, 160, 100, 0).ticks(4) == pytest.approx([75, 100, 125, 150])
