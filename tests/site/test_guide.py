"""The guide to the case file is complete, and its examples are cases."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from causebook import knowledge
from causebook.casefile import read_case
from causebook.casefile.model import CaseFile, Conclusion, Step

TEMPLATES = Path(__file__).parents[2] / "plugin/src/causebook/library/templates"
GUIDE = (TEMPLATES / "case-file.md").read_text(encoding="utf-8")


def keys(model) -> list[str]:
    """Keys of a block as authors write them."""
    return [field.alias or name for name, field in model.model_fields.items()]


@pytest.mark.parametrize("key", [*keys(CaseFile), *keys(Step), *keys(Conclusion)])
def test_the_guide_names_every_key(key):
    assert re.search(rf"`[^`\n]*\b{re.escape(key)}\b[^`\n]*`", GUIDE) or f"\n{key}:" in GUIDE, key


def test_the_shortest_case_of_the_guide_is_a_case(tmp_path):
    (example,) = (block for block in re.findall(r"```yaml\n(.*?)```", GUIDE, re.DOTALL) if block.startswith("title"))
    folder = tmp_path / "shortest"
    folder.mkdir()
    (folder / "case.yml").write_text(example, encoding="utf-8")
    case, problems = read_case(folder, knowledge.load())
    assert case and not problems, problems


def test_the_words_page_names_every_word(demo):
    known = knowledge.load()
    page = demo.page("words/index.html")
    for id_ in (*known.families, *known.readings, *known.findings, *known.causes):
        assert f"<code>{id_.replace('-', ' ')}</code>" in page
