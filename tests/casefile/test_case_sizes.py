"""Sizes of openings as people write them."""

from __future__ import annotations

import math

import pytest

from causebook.casefile.sizes import read_size
from causebook.quantity import QuantityError


@pytest.mark.parametrize(
    ("text", "square_inches"),
    [
        ("14 x 8 in", 112),
        ("14x8 in", 112),
        ("14 in x 8 in", 112),
        ("1 ft x 8 in", 96),
        ("16 × 20 × 1 in", 320),
        ("14 in round", math.pi * 49),
        ("112 in^2", 112),
        ("254 x 254 mm", 100),
        ("16.5 x 20 in", 330),
    ],
)
def test_the_area_of_a_size(text: str, square_inches: float) -> None:
    assert read_size(text).area.to("inch**2").magnitude == pytest.approx(square_inches)


def test_a_filter_tells_its_depth_and_a_round_duct_its_diameter() -> None:
    depth, diameter = read_size("16 x 20 x 4 in").depth, read_size("14 in round").diameter
    assert depth is not None and depth.to("inch").magnitude == pytest.approx(4)
    assert diameter is not None and diameter.to("inch").magnitude == pytest.approx(14)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "14",
        "14 in",
        "14 x 8",
        "14 x 8 x 2 x 1 in",
        "14 x 0 in",
        "a x b in",
        "14 x 8 degF",
        "round",
        "0 in round",
        "-3 x 4 in",
        "14 round",
    ],
)
def test_what_is_no_size_is_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        read_size(text)


@pytest.mark.parametrize(("text", "hint"), [("16 x 20 x 1,5 in", "write 1.5"), ("8,5 in round", "write 8.5")])
def test_a_decimal_comma_in_a_size_is_named(text: str, hint: str) -> None:
    with pytest.raises(QuantityError, match=hint):
        read_size(text)
