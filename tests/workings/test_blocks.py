"""Blocks in a page: replaced where they stand, mistakes named at their line, nothing else touched."""

from __future__ import annotations

import re
from pathlib import Path

import markdown
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from causebook.problems import Problem
from causebook.site.workings.extension import WorkingsExtension
from causebook.workings.read import work_out

RISE = "```workings airflow-from-rise\ninput: 80000 Btu/h\nefficiency: 80 %\nrise: 65 degF\n{more}```\n"


def built(text: str, above: int = 0) -> tuple[str, list[Problem]]:
    blocks = WorkingsExtension(Path("page.md"), above)
    made = markdown.markdown(text, extensions=[blocks, "admonition", "attr_list", "tables", "pymdownx.superfences"])
    return made, blocks.problems


def test_a_block_becomes_a_table_that_can_be_read_aloud() -> None:
    made, problems = built("Before.\n\n" + RISE.format(more="title: Upstairs\nnote: Twice.\n") + "\nAfter.\n")
    assert not problems
    assert "<caption>Upstairs</caption>" in made
    assert '<th scope="col">' in made and '<th scope="row">' in made
    assert "<p>Before.</p>" in made and "<p>After.</p>" in made
    assert '<p class="cb-work-note">Twice.</p>' in made
    assert "Source: " in made and "```" not in made


def test_both_unit_systems_stand_in_it() -> None:
    made, _ = built(RISE.format(more=""))
    assert "Btu/h" in made and "kW" in made and "cfm" in made and "L/s" in made


def test_mistakes_say_how_far_they_are_off() -> None:
    made, problems = built(RISE.format(more="mistakes:\n  input for output: {efficiency: 100 %}\n"))
    assert not problems
    assert "input for output" in made and "+25 %" in made


def test_what_is_changed_to_nothing_is_taken_away() -> None:
    made, problems = built(
        "```workings operating-point\nfan-table: {0.2 inH2O: 1300 cfm, 0.8 inH2O: 900 cfm}\nparts:\n"
        "  filter: 0.2 inH2O at 1000 cfm\n  rest: 0.3 inH2O at 1000 cfm\ninstead:\n"
        "  no filter: {parts: {filter: ~}}\n```\n"
    )
    assert not problems
    assert made.count('<td data-label="Airflow">') == 2


def test_a_block_in_an_admonition_keeps_its_place() -> None:
    inner = "\n".join(f"    {line}" for line in RISE.format(more="").splitlines())
    made, problems = built(f"!!! note\n{inner}\n\n    And on.\n")
    assert not problems
    assert made.index("admonition") < made.index("cb-work-block") < made.index("And on.")


def test_a_block_that_is_only_shown_is_left_alone() -> None:
    made, problems = built("````markdown\n```workings no-such\n```\n````\n")
    assert not problems
    assert "cb-work-block" not in made and "no-such" in made


def test_other_fences_are_left_alone() -> None:
    text = "```python\nprint('```workings')\n```\n\n~~~\nplain\n~~~\n"
    plain = markdown.markdown(text, extensions=["pymdownx.superfences"])
    assert markdown.markdown(text, extensions=[WorkingsExtension(), "pymdownx.superfences"]) == plain


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("```workings airflow-from-ris\n```\n", 3, "did you mean 'airflow-from-rise'"),
        ("```workings\ninput: 1 W\n```\n", 3, "not named"),
        ("```workings air-free-co\n```\n", 3, "needs co, oxygen"),
        ("```workings air-free-co\nco: 50 ppm\noxigen: 6 %\n```\n", 5, "did you mean 'oxygen'"),
        ("```workings air-free-co\nco: 50\noxygen: 6 %\n```\n", 4, "the unit is missing"),
        ("```workings air-free-co\nco: 50 degF\noxygen: 6 %\n```\n", 4, "is not a unit of CO fraction"),
        ("```workings air-free-co\nco: 50 ppm\n```\n", 3, "air-free-co needs it"),
        ("```workings air-free-co\nco: 50 ppm\noxygen: 19 %\n```\n", 5, "oxygen is 19.0"),
        ("```workings air-free-co\nco: 50 ppm\nco: 60 ppm\noxygen: 6 %\n```\n", 5, "is written twice"),
        ("```workings air-free-co\nco: [50 ppm]\noxygen: 6 %\n```\n", 4, "a list or mapping"),
        ("```workings air-free-co\nco: 50 ppm\noxygen: 6 %\n", 3, "not closed"),
        ("```workings air-free-co\njust words\n```\n", 4, "not a mapping"),
        (
            "```workings air-free-co\nco: 50 ppm\noxygen: 6 %\nmistakes:\n  as read: {oxygen: 0}\n```\n",
            7,
            "the unit is missing",
        ),
        ("```workings air-free-co\nco: 50 ppm\noxygen: 6 %\nmistakes:\n  as read:\n```\n", 7, "nothing is changed"),
        ("```workings manifold-change\ninput: 90000 Btu/h\nmanifold: 3.5 inH2O\n```\n", 3, "nothing is asked"),
        (
            "```workings weight-of-evidence\nsuspect: filter-loadet\nprior: 10 %\n```\n",
            4,
            "did you mean 'filter-loaded'",
        ),
        (
            "```workings taps\ntaps: {2: -0.1 inH2O, 3: -0.2 inH2O, 6: 0.1 inH2O}\nexternal: filter and coil\n```\n",
            3,
            "tap 5, at the furnace outlet, was not read",
        ),
        (
            "```workings taps\ntaps: {2: -0.2 inH2O, 3: -0.1 inH2O, 5: 0.1 inH2O}\nexternal: filter and coil\n```\n",
            3,
            "rises from tap 2 to tap 3",
        ),
        ("```workings duct-run\nairflow: 100 cfm\nsize: 112 in^2\nlength: 10 ft\n```\n", 3, "an area has no friction"),
        (
            "```workings orifice-change\norifice: No. 12\nright-orifice: No. 45\nmanifold: 3.5 inH2O\n"
            "heating-value: 1000 Btu/ft^3\n```\n",
            4,
            "no drill No. 12",
        ),
        ("```workings closed-door\nairflow: -5 cfm\nopening: 20 in^2\n```\n", 4, "airflow is"),
        ("```workings drop-at-airflow\ndrop: 0.2 inH2O\nairflow: 0 cfm\nat: 900 cfm\n```\n", 5, "airflow is 0 cfm"),
    ],
)
def test_what_is_wrong_is_named_at_its_line(text: str, line: int, words: str) -> None:
    made, problems = built("# Page\n\n" + text)
    assert any(p.line == line and words in str(p) for p in problems), "\n".join(map(str, problems))
    assert all(p.path == Path("page.md") for p in problems)
    assert "could not be worked out" in made


def test_everything_wrong_is_named_at_once() -> None:
    _, problems = built(
        "```workings air-free-co\nco: 50\noxygen: six\nstack: 1\n```\n\n```workings nothing\na: 1\n```\n"
    )
    assert {p.line for p in problems} == {2, 3, 4, 7}


def test_lines_of_metadata_are_counted() -> None:
    _, problems = built("```workings nothing\n```\n", above=4)
    assert [p.line for p in problems] == [5]


def test_text_in_a_block_cannot_become_markup() -> None:
    made, _ = built(RISE.format(more='title: "<script>alert(1)</script>"\nnote: "<b>x</b>"\n'))
    assert "<script>" not in made and "<b>" not in made


DOCS = Path(__file__).parents[2] / "docs"
_BLOCK = re.compile(r"^```workings (\S+)\n(.*?)^```", re.MULTILINE | re.DOTALL)
ONE_OF_EACH = {
    name: text for page in sorted(DOCS.rglob("*.md")) for name, text in _BLOCK.findall(page.read_text(encoding="utf-8"))
}


@pytest.mark.parametrize("name", ONE_OF_EACH)
@pytest.mark.parametrize("odd", ["0", "-3", "1e15", "0.000001"])
def test_no_number_breaks_a_calculation(name: str, odd: str) -> None:
    """Every number of a sound block in turn replaced by an odd one: a result or a problem, never an exception."""
    text = re.split(r"^(?:mistakes|instead|note):", ONE_OF_EACH[name], maxsplit=1, flags=re.MULTILINE)[0]
    for number in re.finditer(r"(?<![\w.])-?\d+(?:\.\d+)?", text):
        changed = text[: number.start()] + odd + text[number.end() :]
        made, problems = work_out(name, changed, Path("page.md"), 1)
        assert (made is None) == bool(problems), changed


@settings(deadline=None)  # the first call reads the knowledge
@given(st.text(alphabet=st.sampled_from("`~ workingsair-free-co:{}[]\n\t0123456789%ppmé<>&*!|'\""), max_size=200))
def test_any_text_gives_a_page(text: str) -> None:
    made, problems = built(f"```workings air-free-co\n{text}\n```\n\nEnd.\n")
    assert isinstance(made, str)
    assert problems or "cb-work-block" in made
