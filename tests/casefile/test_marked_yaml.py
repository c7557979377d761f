"""YAML by many hands: any text at all gives a tree or located problems, never a traceback or an endless read."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from small_knowledge import small_knowledge

from causebook.casefile import read_case
from causebook.casefile.marked_yaml import LARGEST_FILE, MOST_NODES, load, parse
from causebook.casefile.model import CaseFile
from causebook.knowledge import Knowledge

SHOWN = Path("case.yml")
SOUND = (Path(__file__).parent / "sound-case" / "case.yml").read_text(encoding="utf-8")


def messages(text: str | bytes) -> list[str]:
    tree, problems = parse(text.encode() if isinstance(text, str) else text, SHOWN)
    assert (tree is None) <= bool(problems)
    return [str(problem) for problem in problems]


def test_values_are_texts_with_line_and_column() -> None:
    tree, problems = parse(b"a: 2018\nb:\n  - no\n  - {c: 9:10, d: ~}\n", SHOWN)
    assert tree is not None and problems == []
    assert tree.plain() == {"a": "2018", "b": ["no", {"c": "9:10"}]}
    assert dict(tree.marks()) == {"a": 1, "b": 2, "b.1": 3, "b.2": 4, "b.2.c": 4, "b.2.d": 4}
    c = tree.get("b")
    assert c is not None and (c.items()[0].line, c.items()[0].column) == (3, 5)


def test_a_quoted_nothing_is_an_empty_text() -> None:
    tree, _ = parse(b"a: ''\nb: '~'\nc:\n", SHOWN)
    assert tree is not None and tree.plain() == {"a": "", "b": "~"}


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("a: 1\nb: [1,\nc: }", 3, "cannot be read as YAML"),
        ("a: b: c", 1, "put quotes around a text that holds ': '"),
        ("a:\n\tb: c", 2, "not tabs"),
        ("a: 'open", 1, "not closed"),
        ("a: 1\nb: 2\na: 3", 3, "it stands on line 1 already"),
        ("a: *b", 1, "an alias names nothing"),
        ("a: &a [*a]", 1, "inside what it names"),
        ("? [a, b]\n: c", 1, "where a key belongs"),
        ("? *a\n: c", 1, "an alias names nothing"),
        ("a: 1\n---\nb: 2", 2, "a second document"),
        ("a: !!python/object/apply:os.system [ls]", 1, "a YAML tag"),
        ("", 1, "the file is empty"),
        ("# nothing\n", 1, "the file is empty"),
        ("- a", 1, "not a mapping"),
        ("just words", 1, "not a mapping"),
        ("a: 1\nb: \x07", 2, "U+0007"),
        ("[" * 3000, 1, ""),
        ("- " * 3000, 1, ""),
        ("a: " + "[" * 100 + "]" * 100, 1, "too many blocks"),
    ],
)
def test_what_is_wrong_is_said_with_its_line(text: str, line: int, words: str) -> None:
    found = messages(text)
    assert len(found) == 1 and found[0].startswith(f"case.yml:{line}: ") and words in found[0], found


def test_other_encodings_are_named_with_their_line() -> None:
    assert messages("a: 1\nb: é".encode("latin-1"))[0].startswith("case.yml:2: a character is not UTF-8")


def test_an_alias_repeats_what_it_names() -> None:
    tree, problems = parse(b"a: &x {c: 1}\nb: *x\n", SHOWN)
    assert tree is not None and problems == [] and tree.plain() == {"a": {"c": "1"}, "b": {"c": "1"}}


def test_a_bomb_of_aliases_does_not_go_off() -> None:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]" for n in range(1, 12)]
    found = messages("\n".join(lines))
    assert len(found) == 1 and f"{MOST_NODES:,}" in found[0]


def test_a_file_too_large_is_not_read(tmp_path: Path) -> None:
    file = tmp_path / "case.yml"
    file.write_text("a: b\n" + "#" * LARGEST_FILE, encoding="utf-8")
    tree, problems = load(file, SHOWN)
    assert tree is None and "too large" in str(problems[0])


# ---------------------------------------------------------------- any text at all


def _read(data: bytes, folder: Path, knowledge: Knowledge) -> None:
    (folder / "case.yml").write_bytes(data)
    case, problems = read_case(folder, knowledge)
    assert (case is None) == any(problem.severity.value == "error" for problem in problems)
    assert all(str(problem) for problem in problems)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("cases") / "any-case"
    made.mkdir()
    return made


@given(data=st.one_of(st.binary(max_size=300), st.text(max_size=300).map(lambda t: t.encode("utf-8", "replace"))))
@settings(max_examples=300, deadline=None)
def test_any_bytes_are_read_or_refused(folder: Path, data: bytes) -> None:
    _read(data, folder, KNOWLEDGE)


KNOWLEDGE = small_knowledge()
_KEYS = st.sampled_from(
    [f.alias or n for block in (CaseFile, *(CaseFile.__subclasses__())) for n, f in block.model_fields.items()]
    + [
        "family",
        "words",
        "steps",
        "read",
        "seen",
        "with",
        "photo",
        "file",
        "log",
        "shows",
        "void",
        "concluded",
        "root",
        "not it",
        "also found",
        "supply air",
        "wheel dirty",
        "date",
        "do",
        "value",
        "accuracy",
        "fan table",
        "private",
        "counted as external",
        "rise",
        "kind",
        "size",
    ]
)
_VALUES = st.one_of(
    st.none(),
    st.sampled_from(
        [
            "0.3 inH2O",
            "0.3",
            "yes",
            "2025-01-01",
            "high-limit",
            "return-undersized",
            "../x",
            "35 to 65 degF",
            "9 min",
            "1e999 degF",
            "5 m**9**9**9",
            "14 x 8 in",
            "-0",
            "²",
            "\0",
        ]
    ),
    st.text(max_size=12),
    st.integers(),
    st.floats(),
    st.booleans(),
)
_TREES = st.recursive(
    _VALUES,
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(_KEYS, inner, max_size=6)),
    max_leaves=30,
)


@given(tree=st.dictionaries(_KEYS, _TREES, max_size=8))
@settings(max_examples=300, deadline=None)
def test_any_tree_of_known_keys_is_read_or_refused(folder: Path, tree: dict[str, object]) -> None:
    _read(yaml.safe_dump(tree, allow_unicode=True).encode("utf-8", "replace"), folder, KNOWLEDGE)


@given(data=st.data())
@settings(max_examples=300, deadline=None)
def test_a_sound_case_with_any_line_spoilt_is_read_or_refused(folder: Path, data: st.DataObject) -> None:
    lines = SOUND.splitlines()
    at = data.draw(st.integers(0, len(lines) - 1))
    key, colon, value = lines[at].partition(":")
    lines[at] = data.draw(
        st.one_of(
            st.just(""),
            st.text(max_size=40),
            _VALUES.map(lambda v: f"{key}{colon} {v}"),
            st.integers(0, len(lines[at])).map(lambda n: lines[at][:n]),
            st.sampled_from(
                [f"{key}{colon} {{{value}", f"{key}{colon} [a, b]", f"{key}{colon} {{a: b}}", f"  {lines[at]}"]
            ),
        )
    )
    _read("\n".join(lines).encode("utf-8", "replace"), folder, KNOWLEDGE)
