"""Numbers and beliefs as people read them."""

from __future__ import annotations

import datetime as dt

import pytest

from causebook import quantity as qty
from causebook.quantity import q
from causebook.writeup import words


@pytest.mark.parametrize(
    ("value", "kind", "sd", "text"),
    [
        (q(0.36, "inwc"), qty.AIR_PRESSURE, None, "0.36 in. w.c. (90 Pa)"),  # 0.36 × 249.089 Pa = 89.7 Pa
        (q(905, "cfm"), qty.AIRFLOW, q(45, "cfm"), "905 ± 45 cfm (427 ± 21 L/s)"),  # 1 cfm = 0.471947 L/s
        (q(212, "degF"), qty.PROBE_TEMPERATURE, q(9, "delta_degF"), "212.0 ± 9.0 °F (100.0 ± 5.0 °C)"),
        (q(65, "delta_degF"), qty.TEMPERATURE_DIFFERENCE, None, "65.0 °F (36.1 K)"),
        (q(19, "ppm_"), qty.CO_FRACTION, None, "19 ppm"),
        (q(93.3, "s"), qty.DURATION, None, "93.3 s"),
        (q(520, "s"), qty.DURATION, None, "8 min 40 s"),
        (q(300, "s"), qty.DURATION, None, "5 min"),
        (q(17, ""), qty.RATIO, None, "17"),
        (q(0.8, ""), qty.RATIO, None, "0.8"),
    ],
)
def test_us_first_si_beside(value: qty.Quantity, kind: qty.Kind, sd: qty.Quantity | None, text: str) -> None:
    assert words.text(value, kind, sd) == text


def test_a_quantity_on_a_page_can_be_switched_by_unit() -> None:
    assert words.shown(q(0.5, "inwc"), qty.AIR_PRESSURE) == (
        '<span class="cb-q"><span class="cb-us">0.50 in. w.c.</span><span class="cb-sep"> · </span>'
        '<span class="cb-si">125 Pa</span></span>'
    )
    assert words.shown(q(5, "A"), qty.CURRENT) == '<span class="cb-q">5.0 A</span>'
    assert words.shown(None, qty.AIRFLOW) == "not known"


def test_ranges_carry_their_unit_once() -> None:
    assert "35 to 65 °F" in words.span(q(35, "delta_degF"), q(65, "delta_degF"), qty.TEMPERATURE_DIFFERENCE)
    assert "35.5 to 65.0 °F" in words.span(q(35.5, "delta_degF"), q(65, "delta_degF"), qty.TEMPERATURE_DIFFERENCE)
    assert "−112 to −62 Pa" in words.span(q(-0.45, "inwc"), q(-0.25, "inwc"), qty.AIR_PRESSURE)


def test_what_a_quantity_became() -> None:
    became = words.change(q(82.2, "delta_degF"), q(61.9, "delta_degF"), qty.TEMPERATURE_DIFFERENCE)
    assert "82.2 → 61.9 °F" in became and "45.7 → 34.4 K" in became
    assert "−0.36 → −0.13 in. w.c." in words.change(q(-0.36, "inwc"), q(-0.13, "inwc"), qty.AIR_PRESSURE)


@pytest.mark.parametrize(
    ("decibans", "said", "bar"),
    [(0.4, "no change", ""), (2.0, "weakly for", "▮"), (-3.0, "clearly against", "▮▮"), (12, "strongly for", "▮▮▮")],
)
def test_weights_in_words_and_marks(decibans: float, said: str, bar: str) -> None:
    assert words.weight(decibans) == said
    assert words.bar(decibans) == bar


def test_beliefs_are_never_certain() -> None:
    assert [words.percent(p) for p in (0, 0.004, 0.5, 0.994, 1)] == [
        "under 1 %",
        "under 1 %",
        "50 %",
        "over 99 %",
        "over 99 %",
    ]


def test_small_words() -> None:
    assert words.minutes(99) == "1 h 39 min"
    assert words.minutes(60) == "1 h"
    assert words.minutes(4) == "4 min"
    assert words.day(dt.date(2024, 2, 6)) == "February 6, 2024"
    assert [words.listed(x) for x in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == ["", "a", "a and b", "a, b and c"]
    assert words.sentence("so it was") == "So it was."
    assert words.yes_no(None) == "not known"
