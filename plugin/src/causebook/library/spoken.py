"""Words as people type them, made alike: small letters, endings off, "won't" and "not" as "no", fillers left out.

The page's script does the same, rule for rule (`assets/seek.js`).
"""

from __future__ import annotations

import re

FILLERS = frozenset(
    "a an the is are was were it its it's my our your his her of in on at to and or with for that this there these has "
    "have had i we you he she they be been am im as by from furnace furnaces furnance furnce unit system heater hvac "
    "please help what whats why how do does did when then get gets getting got just really very so again still "
    "customer says said about keep keeps keeping kept".split()
)
"""Words that tell no page from another."""
NEGATIVES = frozenset(
    "no not none wont dont doesnt isnt aint cant cannot didnt wasnt wouldnt couldnt without nothing".split()
)
"""All taken as "no"."""
_WORD = re.compile(r"[a-z0-9]+")
_SINGLE = re.compile(r"\b([a-z])[-/]([a-z])")
_APOSTROPHE = re.compile(r"['’`]")


def raw_words(text: str) -> list[str]:
    """The words of a text in small letters, "t-stat" and "a/c" as one."""
    plain = _APOSTROPHE.sub("", text.lower().replace("µ", "u").replace("μ", "u"))
    return _WORD.findall(_SINGLE.sub(r"\1\2", plain))


def stems(text: str) -> list[str]:
    """The words of a text made alike, fillers left out; with nothing but fillers, those."""
    raw = raw_words(text)
    told = [word for word in raw if word not in FILLERS] or raw
    return [stem(word) for word in told]


def stem(word: str) -> str:
    """A word without its ending: "trips", "tripped" and "tripping" are one."""
    if word in NEGATIVES:
        return "no"
    if len(word) > 3 and word.endswith("s") and not word.endswith(("ss", "us", "is")):
        word = word[:-1]
    for ending in ("ing", "ed"):
        if word.endswith(ending) and len(word) - len(ending) > 3:
            word = word[: -len(ending)]
            if word[-1] == word[-2] and word[-1] not in "ls":
                word = word[:-1]
            break
    return word[:-1] if len(word) > 4 and word.endswith("e") else word


def apart(one: str, other: str, most: int) -> int:
    """Letters wrong, missing, too many or swapped between two words; `most` + 1 when more than `most`.

    Optimal string alignment (Damerau 1964; from memory).
    """
    if abs(len(one) - len(other)) > most:
        return most + 1
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        earlier, before, row = before, row, [i]
        for j, b in enumerate(other, 1):
            least = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (a != b))
            if i > 1 and j > 1 and a == other[j - 2] and one[i - 2] == b:
                least = min(least, earlier[j - 2] + 1)
            row.append(least)
        if min(row) > most:
            return most + 1
    return row[-1]
