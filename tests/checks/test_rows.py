"""Every published value in the row files, against the project's own functions."""

from collections import Counter

import pytest
from loader import Row, left_out, rows

ROWS = rows()


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_row(row: Row) -> None:
    if row.refused:
        with pytest.raises((ValueError, TypeError), match=row.refused):
            row.call()
    else:
        assert list(row.differences()) == []


@pytest.mark.parametrize(
    ("right", "wrong", "tolerance"),
    [
        ("84308 Pa", "84400 Pa", "0.05 %"),
        ("84308 Pa", "84311 Pa", "1 Pa"),
        ("84.31 kPa", "84.32 kPa", "printed"),
        ("84307.2 Pa", "84307.3 Pa", "printed"),
        ("84307.20195637023 Pa", "84307.203 Pa", "exact"),
    ],
)
def test_a_value_beyond_its_tolerance_is_reported(right: str, wrong: str, tolerance: str) -> None:
    def row(expected: str) -> Row:
        return Row("rows.csv", 1, "X", "air.standard_pressure", "elevation=5000 ft", expected, tolerance, "none", "")

    assert list(row(right).differences()) == []
    assert list(row(wrong).differences()) != []


def test_three_hundred_published_values_are_asserted() -> None:
    assert len({row.id for row in ROWS}) >= 300


def test_each_row_names_its_source_and_how_it_was_obtained() -> None:
    assert [row.id for row in ROWS if not row.source or not row.status or not row.tolerance and not row.refused] == []


def test_a_value_left_out_has_a_reason_and_is_not_also_asserted() -> None:
    asserted = Counter(row.id for row in ROWS)
    assert [entry["id"] for entry in left_out() if entry["id"] in asserted or not entry["reason"]] == []
