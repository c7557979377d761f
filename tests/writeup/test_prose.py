"""Case text by many hands: what comes out can do no harm and can still be read."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from worked import Outline, html

from causebook.writeup import prose

_TAGS = {"p", "br", "ul", "ol", "li", "blockquote", "pre", "strong", "em", "code", "a"}
_ALPHABET = st.sampled_from(
    list("ab \n<>&\"'`*_[]()!#:/\\~{}|=-+.1$\x02\x03\x00")
    + ["javascript:", "<script>", "](", "http://a.example/", "&#106;", "onclick=", "--8<--", "```", "{: #x }", "data:"]
)
HOSTILE = st.lists(_ALPHABET, max_size=24).map("".join)


def test_script_stands_there_as_text() -> None:
    assert prose.block("<script>alert(1)</script>") == "<p>&lt;script&gt;alert(1)&lt;/script&gt;</p>"
    assert prose.inline("see <script>alert(1)</script>") == "see &lt;script&gt;alert(1)&lt;/script&gt;"


@pytest.mark.parametrize(
    "target",
    [
        "javascript:alert(1)",
        "JaVaScRiPt:alert(1)",
        "java\tscript:alert(1)",
        "&#106;avascript:alert(1)",
        "data:text/html,x",
        "vbscript:x",
        "//evil.example/x",
        "file:///etc/passwd",
    ],
)
def test_a_link_with_another_scheme_keeps_its_words_only(target: str) -> None:
    for shown in (prose.block(f"[the words]({target})"), prose.inline(f"[the words]({target})")):
        assert "the words" in shown
        assert "<a" not in shown and "href" not in shown


@pytest.mark.parametrize(
    "target",
    [
        "https://a.example/x?y=1",
        "http://a.example",
        "mailto:a@b.example",
        "../handbook/rise.html#top",
        "/handbook/",
        "#cb-step-3",
    ],
)
def test_ordinary_links_and_site_paths_stay(target: str) -> None:
    assert f'href="{target}"' in prose.block(f"[the words]({target})")


def test_pictures_become_their_description_and_headings_bold_lines() -> None:
    assert prose.block("![a crack](https://a.example/x.png)") == "<p>a crack</p>"
    assert prose.block("# Head *em*\n\ntext") == "<p><strong>Head <em>em</em></strong></p>\n<p>text</p>"


def test_marks_lists_and_plain_text() -> None:
    assert prose.block("*a* **b** `c < d`") == "<p><em>a</em> <strong>b</strong> <code>c &lt; d</code></p>"
    assert "<li>one</li>" in prose.block("- one\n- two")
    assert prose.inline("one\n\ntwo") == "one two"
    assert prose.plain("**bold** [x](https://a.example) & <b>c</b>") == "bold x & <b>c</b>"
    assert prose.block("rise 68.1 °F, 14 x 8 in") == "<p>rise 68.1 °F, 14 x 8 in</p>"


@given(HOSTILE)
def test_whatever_is_written_only_known_tags_and_links_come_out(text: str) -> None:
    for shown in (prose.block(text), prose.inline(text)):
        seen = Outline(shown)
        assert {tag for tag, _ in seen.tags} <= _TAGS
        assert {name for _, attributes in seen.tags for name in attributes} <= {"href", "rel"}
        for link in seen.named("a"):
            assert re.match(r"https?://|mailto:|[^:]*$", link.get("href", "")), link


@given(HOSTILE)
def test_a_heading_comes_out_of_markdown_as_the_plain_text_it_was(text: str) -> None:
    made = html(f"## x {prose.in_markdown(text)} y")
    seen = Outline(made)
    assert [tag for tag, _ in seen.tags] == ["h2"]
    assert set(seen.tags[0][1]) == {"id"}
    assert "".join(t for _, t in seen.texts).split() == f"x {prose.plain(text)} y".split()


@given(st.lists(HOSTILE, min_size=2, max_size=3))
def test_case_text_in_a_block_of_html_reaches_no_other_markdown_extension(texts: list[str]) -> None:
    blocks = [prose.in_html_block(f'<div class="x">\n{prose.block(t)}\n</div>') for t in texts]
    made = Outline(html("\n\n## Head\n\n".join(blocks)))
    alone = [Outline(block) for block in blocks]
    assert [t for t, _ in made.tags if t != "h2"] == [t for one in alone for t, _ in one.tags]
    assert made.unpaired == [] and made.open == []


def test_a_number_stays_on_one_line_with_its_unit() -> None:
    assert prose.glued("0.36 in. w.c., 97 %, 12 min, 5 A, 4 Kent Road, step 6 seen") == (
        "0.36\u00a0in.\u00a0w.c., 97\u00a0%, 12\u00a0min, 5\u00a0A, 4 Kent Road, step 6 seen"
    )
