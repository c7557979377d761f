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


def test_each_row_names_its_source_and_how_it_was_obtained() -> None:
    assert [row.id for row in ROWS if not row.source or not row.status or not row.tolerance and not row.refused] == []


def test_a_value_left_out_has_a_reason_and_is_not_also_asserted() -> None:
    asserted = Counter(row.id for row in ROWS)
    assert [entry["id"] for entry in left_out() if entry["id"] in asserted or not entry["reason"]] == []
