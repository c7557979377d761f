"""The search in words, codes and readings over the index of `seek_index.py`.

    score = said + weight of the words / weight of all words typed

`said`: up to 2, where the words typed are, or hold, what people say for a page: the share of the words typed that it
takes up, doubled.  A word weighs the more the fewer pages have it (its inverse document frequency; Spärck Jones 1972,
from memory), and by where it stands on the page.  Words that are missing lower a page's score and do not leave it out.
A code counts only as it stands, letter for letter.  The browser does the same (`assets/seek.js`).
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from causebook.library.spoken import apart, raw_words, stem, stems

MOST_WEIGHT = 8
"""The largest weight of a word on a page."""
SAID = 2.0
BEGUN = 0.9
"""Share of the words of a phrase that is still being typed."""
EXACT = 3.0
"""What a code adds to the score of a page that has it."""
WHERE = {"complaint": 1.0, "cause": 1.0, "case": 0.95, "page": 0.8}
"""Factor on what the words weigh, by the kind of page."""
LEAST_SHARE = 0.25
"""Pages with less than this share of the weight of the words are not named, unless people say so for them."""
CODE_WORDS = frozenset(
    stem(w)
    for w in "code error fault flash flashes blink blinks led err lockout-code diagnostic flashing blinking".split()
)
_PART = re.compile(r"[-−]?\d[\d,]*\.?\d*[a-z%]*|[-−]?\.\d+[a-z%]*|[a-z][a-z0-9]*|%")
_NUMBER = re.compile(r"([-−]?(?:\d[\d,]*\.?\d*|\.\d+))([a-z%]*)")
_CODE = re.compile(r"[a-z]{1,2}\d{1,3}")
BETWEEN = frozenset("of is at reads reading read was about with on the in a and".split())
"""Words between a reading's name and its number."""
UNIT_WORDS = frozenset(
    "degrees degree deg f c in inch inches wc iwc inwc inh2o w ppm uf mfd amp amps volt volts v vac % percent btu btuh "
    "btus rpm ohm ohms sec seconds s min minutes pa psi ua column water".split()
)
_APOSTROPHE = re.compile(r"['’`]")


@dataclass(frozen=True, slots=True)
class Hit:
    """One page found."""

    kind: str
    id: str
    address: str
    title: str
    line: str
    score: float
    whole: bool
    """All words typed stand on it, or are said for it."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What a search comes to."""

    stops: tuple[str, ...]
    """Ids of the stops that the words call for, before anything else."""
    typed: Mapping[str, float]
    """Readings among the words: ask id -> value [SI]."""
    codes: tuple[str, ...]
    """Codes among the words, as typed."""
    hits: tuple[Hit, ...]
    """All pages found, best first."""
    instead: Mapping[str, str]
    """Words that stand nowhere -> the nearest word that was taken instead; empty where there is none."""


class Search:
    """The search over one index."""

    def __init__(self, index: Mapping[str, Any]) -> None:
        self.index = index
        self.docs: Sequence[Sequence[str]] = index["docs"]
        self.terms = {term: dict(zip(of[::2], of[1::2], strict=True)) for term, of in index["terms"].items()}
        self._synonyms = {tuple(theirs.split()): tuple(ours.split()) for theirs, ours in index["synonyms"].items()}
        self._phrases = {tuple(phrase.split()): docs for phrase, docs in index["phrases"].items()}
        self._alarms = {tuple(phrase.split()): ids for phrase, ids in index["alarms"].items()}
        self._meters = {tuple(phrase.split()): ask for phrase, ask in index["meters"].items()}
        self._ours: dict[tuple[str, ...], list[int]] = {}
        for phrase, docs in self._phrases.items():
            self._ours.setdefault(tuple(self._put(phrase)), []).extend(docs)

    def ask(self, text: str) -> Answer:
        """The answer to what was typed."""
        stops = [id_ for at in _runs(stems(text), self._alarms) for id_ in self._alarms[at]]
        typed, left = self.readings(text)
        codes, left = self._codes(left)
        words = [] if not left.strip() else stems(left)
        hits, instead = self._pages(words, codes)
        return Answer(tuple(dict.fromkeys(stops)), typed, tuple(codes), hits, instead)

    # ---------------------------------------------------------------- readings and codes

    def readings(self, text: str) -> tuple[dict[str, float], str]:
        """The readings in a text (ask id -> value [SI]), and the text without them.

        A name stands before its number, or behind it where the text begins with a number.
        """
        parts = _PART.findall(_APOSTROPHE.sub("", text.lower().replace("µ", "u").replace("μ", "u").replace("°", " ")))
        numbers = {n: found for n, part in enumerate(parts) if (found := _number(part))}
        behind = 0 in numbers
        typed: dict[str, float] = {}
        gone: set[int] = set()
        for n, (value, glued) in numbers.items():
            after = n + 1
            while after < len(parts) and parts[after] in UNIT_WORDS and after not in numbers:
                after += 1
            names = [self._before(parts, n, gone), self._behind(parts, n + 1, gone), self._behind(parts, after, gone)]
            found = next((name for name in (names[1:] + names[:1] if behind else names) if name), None)
            if found:
                ask, places = found
                units = self.index["asks"][ask][1]
                said = [glued] if glued else ["".join(parts[n + 1 : n + 1 + size]) for size in (3, 2, 1)]
                unit = next((u for words in said for u in units if words and _is_unit(words, u)), units[0])
                typed[ask] = unit[1] * value + unit[2]
                gone |= {n, *places, *(range(n + 1, after) if not places & set(range(n + 1, after)) else ())}
        return typed, " ".join(part for n, part in enumerate(parts) if n not in gone)

    def _before(self, parts: Sequence[str], n: int, gone: set[int]) -> tuple[str, set[int]] | None:
        """The reading named right before a place, and the places of its name and of what joins the two."""
        end = n
        while end > 0 and parts[end - 1] in BETWEEN:
            end -= 1
        for size in range(min(6, end), 0, -1):
            places = set(range(end - size, end))
            if not gone & places and (ask := self._meters.get(tuple(parts[end - size : end]))):
                return ask, places | set(range(end, n))
        return None

    def _behind(self, parts: Sequence[str], n: int, gone: set[int]) -> tuple[str, set[int]] | None:
        """The reading named from a place on, and the places of its name."""
        for size in range(min(6, len(parts) - n), 0, -1):
            places = set(range(n, n + size))
            if not gone & places and (ask := self._meters.get(tuple(parts[n : n + size]))):
                return ask, places
        return None

    def _codes(self, text: str) -> tuple[list[str], str]:
        """Codes in a text, and the text without them and the words for a code."""
        parts = raw_words(text)
        said = any(stem(part) in CODE_WORDS for part in parts)
        codes = [
            part
            for part in parts
            if part in self.index["codes"]
            or (part.isdigit() and said)
            or (_CODE.fullmatch(part) and stem(part) not in self.terms and (part,) not in self._synonyms)
        ]
        left = [part for part in parts if part not in codes and not (codes and stem(part) in CODE_WORDS)]
        return codes, " ".join(left)

    # ---------------------------------------------------------------- pages

    def _put(self, words: Sequence[str]) -> list[str]:
        """Words with other people's put into ours, the longest first."""
        out: list[str] = []
        n = 0
        while n < len(words):
            for size in range(min(4, len(words) - n), 0, -1):
                if ours := self._synonyms.get(tuple(words[n : n + size])):
                    out += ours
                    n += size
                    break
            else:
                out.append(words[n])
                n += 1
        return out

    def _slots(self, words: Sequence[str]) -> tuple[list[list[tuple[str, ...]]], dict[str, str]]:
        """Each thing asked for, with the ways in which a page may have it; and the words taken instead."""
        slots: list[list[tuple[str, ...]]] = []
        instead: dict[str, str] = {}
        n = 0
        while n < len(words):
            for size in range(min(4, len(words) - n), 0, -1):
                theirs = tuple(words[n : n + size])
                if ours := self._synonyms.get(theirs):
                    slots.append([theirs, ours])
                    n += size
                    break
            else:
                word = words[n]
                n += 1
                if word in self.terms:
                    slots.append([(word,)])
                elif word.isdigit():
                    continue
                elif n == len(words) and len(word) > 2 and (begun := self._begun(word)):
                    slots.append([(one,) for one in begun])
                else:
                    instead[word] = near = self._nearest(word)
                    slots.append([(near,)] if near else [])
        return slots, instead

    def _begun(self, word: str) -> list[str]:
        """The words that a word still being typed may become, those on most pages first."""
        begun = [term for term in self.terms if term.startswith(word)]
        return sorted(begun, key=lambda term: (-len(self.terms[term]), term))[:8]

    def _nearest(self, word: str) -> str:
        """The word nearest to one that stands nowhere; empty when none is near."""
        most = 0 if len(word) < 4 else 1 if len(word) < 7 else 2
        near = [(apart(word, term, most), -len(of), term) for term, of in self.terms.items()]
        best = min((one for one in near if one[0] <= most), default=None)
        return best[2] if best else ""

    def _pages(self, words: list[str], codes: Sequence[str]) -> tuple[tuple[Hit, ...], dict[str, str]]:
        slots, instead = self._slots(words)
        meant = [instead.get(word) or word for word in words]
        scores: dict[int, float] = {}
        full: dict[int, int] = {}
        every = math.log(1 + len(self.docs))
        whole = 0.0
        for ways in slots:
            best: dict[int, float] = {}
            complete: set[int] = set()
            worth = 0.0
            for way in ways:
                of = [(self._idf(word, every), self.terms.get(word, {})) for word in way]
                worth = max(worth, sum(idf for idf, _ in of) / len(way))
                docs = set().union(*(having for _, having in of))
                for doc in docs:
                    value = sum(idf * having.get(doc, 0) for idf, having in of) / len(way) / MOST_WEIGHT
                    best[doc] = max(best.get(doc, 0.0), value)
                    if all(doc in having for _, having in of):
                        complete.add(doc)
            whole += worth or every
            for doc, value in best.items():
                scores[doc] = scores.get(doc, 0.0) + value
            for doc in complete:
                full[doc] = full.get(doc, 0) + 1
        shares = {doc: WHERE[self.docs[doc][0]] * score / whole for doc, score in scores.items()}
        said = self._said(meant)
        if words and words[-1] not in self.terms:
            for phrase, docs in self._phrases.items():
                if len(words) > 1 and " ".join(phrase).startswith(" ".join(words)):
                    said |= {doc: max(said.get(doc, 0.0), BEGUN) for doc in docs}
        exact = {doc for code in codes for doc in self.index["codes"].get(code, ())}
        hits = []
        for doc in shares.keys() | said.keys() | exact:
            share = shares.get(doc, 0.0)
            if share < LEAST_SHARE * WHERE[self.docs[doc][0]] / 4 and doc not in said and doc not in exact:
                continue
            score = round(SAID * said.get(doc, 0.0) + share + (EXACT if doc in exact else 0.0), 9)
            all_there = doc in exact or said.get(doc, 0.0) == 1 or (bool(slots) and full.get(doc, 0) == len(slots))
            hits.append((score, doc, all_there))
        hits.sort(key=lambda hit: (-hit[0], hit[1]))
        return tuple(Hit(*self.docs[doc], score, all_there) for score, doc, all_there in hits), instead

    def _idf(self, word: str, every: float) -> float:
        return math.log(1 + len(self.docs) / len(self.terms[word])) if word in self.terms else every

    def _said(self, words: Sequence[str]) -> dict[int, float]:
        """Of each page for which the words hold what people say: the share of the words that this takes up."""
        out: dict[int, float] = {}
        for told, phrases in ((list(words), self._phrases), (self._put(words), self._ours)):
            for run in _runs(told, phrases):
                for doc in phrases[run]:
                    out[doc] = max(out.get(doc, 0.0), len(run) / len(told))
        return out


def _number(part: str) -> tuple[float, str] | None:
    """A part of a text as number and the unit glued to it; None when it is none."""
    found = _NUMBER.fullmatch(part)
    if not found or found[2] and found[2] not in UNIT_WORDS:
        return None
    return float(found[1].replace(",", "").replace("−", "-")), found[2]


def _is_unit(said: str, unit: Sequence[Any]) -> bool:
    plain = re.sub(r"[^a-z0-9%]", "", said)
    return plain == re.sub(r"[^a-z0-9%]", "", unit[0].lower().replace("µ", "u")) or plain in unit[4]


def _runs(words: Sequence[str], phrases: Mapping[tuple[str, ...], Any]) -> list[tuple[str, ...]]:
    """The phrases that stand in the words, word after word."""
    longest = max(map(len, phrases), default=0)
    return [
        run
        for start in range(len(words))
        for size in range(1, min(longest, len(words) - start) + 1)
        if (run := tuple(words[start : start + size])) in phrases
    ]


def told(answer: Answer) -> str:
    """What the words come to, in sentences; the counts are of pages."""
    out = [
        f"No page has “{word}”. Showing “{near}”." if near else f"No page has “{word}”."
        for word, near in answer.instead.items()
    ]
    whole, every = sum(hit.whole for hit in answer.hits), len(answer.hits)
    if not whole:
        out += [
            f"No case here has code {code.upper()}. Codes differ by manufacturer and model: read the chart on the "
            "furnace door."
            for code in answer.codes
        ]
    if every and whole == every:
        out.append(f"{every} page fits." if every == 1 else f"{every} pages fit.")
    elif every:
        out.append(f"{whole} {'page fits' if whole == 1 else 'pages fit'} all of it, {every - whole} some of it.")
    if not every and not answer.typed and not answer.codes:
        out.append("Nothing fits.")
    return " ".join(out)
