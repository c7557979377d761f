"""The forms of an option's change in the guide to the case file are those that sizing reads."""

from __future__ import annotations

import re
from itertools import product
from pathlib import Path

import pytest
import yaml

from causebook.casefile.model import CaseOption
from causebook.sizing.changes import planned
from causebook.sizing.forms import FORMS

TEMPLATES = Path(__file__).parents[2] / "plugin/src/causebook/library/templates"
GUIDE = (TEMPLATES / "case-file.md").read_text(encoding="utf-8")
TABLE = re.search(r"\| part under `change` .*?\n\|---\|---\|\n(.*?)\n\n(.*?)\n\n", GUIDE, re.DOTALL)
ROWS = [tuple(re.findall(r"`([^`]+)`", cell) for cell in row.strip("|").split(" | ")) for row in TABLE[1].splitlines()]
SAME_ROW = {"3.5 inH2O": "manifold", "80000 Btu/h": "input", "10 µF": "capacitor"}
"""Forms of only one of the parts of their row."""
FORMS_LISTED = [
    (part, form) for parts, forms in ROWS for part, form in product(parts, forms) if SAME_ROW.get(form, part) == part
]


def not_understood(worked, part, value):
    return planned(CaseOption(name="it", change={part: value}), 1, worked("large-orifices").job).not_understood


@pytest.mark.parametrize(("part", "form"), FORMS_LISTED)
def test_every_form_of_the_guide_is_understood(worked, part, form):
    assert not not_understood(worked, part, yaml.load(form, Loader=yaml.BaseLoader))


def test_the_guide_lists_the_parts_that_sizing_reads():
    assert {part for part, _ in FORMS_LISTED} == set(FORMS)


def test_parts_beside_the_air_are_understood(worked):
    for part in re.findall(r"`([^`]+)`", TABLE[2]):
        assert not not_understood(worked, part, "new")


def test_what_the_guide_does_not_list_is_not_understood(worked):
    assert not_understood(worked, "recirculation", "made smaller")
