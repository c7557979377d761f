"""How the pages say things: quantities in US units with SI beside them, beliefs, weights, dates, lists."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Any

from markupsafe import Markup, escape

from causebook import quantity as qty
from causebook.belief.verdict import CauseBelief, Role, StopNotice
from causebook.knowledge.model import Knowledge
from causebook.measured import Measured
from causebook.quantity import KINDS, Kind, Quantity

NOT_KNOWN = "not known"
WEAK, CLEAR, STRONG = 1.0, 3.0, 10.0
"""Limits of the words for a weight of evidence [deciban]: 3 doubles the odds, 10 makes them tenfold."""
_DIFFERENCES = {"degF": "delta_degF", "degC": "delta_degC"}


def us_difference(sd: Quantity, kind: Kind) -> float:
    """The bare number of an uncertainty in the US unit of `kind`; of a temperature it is a difference."""
    return float(sd.to(_DIFFERENCES.get(kind.us, kind.us)).magnitude)


def _si_difference(sd: Quantity, kind: Kind) -> float:
    unit = kind.si_shown or "dimensionless"
    return float(sd.to(_DIFFERENCES.get(unit, unit)).magnitude)


def _numbers(value: Quantity, kind: Kind) -> tuple[str, str]:
    if kind.si == "s":
        clock = _clock(qty.si(value, kind))
        return clock, clock
    if not kind.us_text:
        number = f"{qty.us(value, kind):,.3f}".rstrip("0").rstrip(".")
        return number, number
    return qty.show(value, kind), qty.show_si(value, kind)


def _clock(seconds: float) -> str:
    """A measured time: "105.9 s" as on the stopwatch, from five minutes on "8 min 40 s"."""
    if abs(seconds) < 300:
        return f"{seconds:.1f} s"
    whole, rest = divmod(round(seconds), 60)
    return f"{whole} min {rest} s" if rest else f"{whole} min"


def _with_sd(shown: str, unit: str, sd: float, digits: int) -> str:
    number = shown.removesuffix(unit).strip()
    spread = f"{sd:,.{digits}f}"
    if float(spread.replace(",", "")) == 0:
        return shown
    return f"{number} ± {spread} {unit}".strip()


def both(value: Quantity, kind: Kind, sd: Quantity | None = None) -> tuple[str, str]:
    """A quantity as text in US and in SI units, with its standard uncertainty where there is one."""
    us, si = _numbers(value, kind)
    if sd is None:
        return us, si
    return (
        _with_sd(us, kind.us_text, us_difference(sd, kind), kind.us_digits),
        _with_sd(si, kind.si_text, _si_difference(sd, kind), kind.si_digits),
    )


def text(value: Quantity, kind: Kind, sd: Quantity | None = None) -> str:
    """For a terminal: "0.36 in. w.c. (90 Pa)"."""
    us, si = both(value, kind, sd)
    return us if us == si else f"{us} ({si})"


def spans(us: str, si: str) -> Markup:
    """The HTML of one quantity; what is the same in both systems is written once."""
    if us == si:
        return Markup('<span class="cb-q">{}</span>').format(us)
    return Markup(
        '<span class="cb-q"><span class="cb-us">{}</span><span class="cb-sep"> · </span>'
        '<span class="cb-si">{}</span></span>'
    ).format(us, si)


def shown(value: Quantity | None, kind: Kind, sd: Quantity | None = None) -> Markup:
    """A quantity for a page; says so when it is not known."""
    return escape(NOT_KNOWN) if value is None else spans(*both(value, kind, sd))


def estimate(found: Measured | None) -> Markup:
    """An estimate or a prediction with its standard uncertainty, for a page."""
    return escape(NOT_KNOWN) if found is None else shown(found.value, found.kind, found.sd)


def span(low: Quantity, high: Quantity, kind: Kind) -> Markup:
    """A range for a page: "35 to 65 °F"; whole numbers stay whole."""
    whole = all(float(qty.us(end, kind)).is_integer() for end in (low, high))
    digits = 0 if whole else None
    return spans(
        _range(qty.show(low, kind, digits), qty.show(high, kind, digits), kind.us_text),
        _range(qty.show_si(low, kind, digits), qty.show_si(high, kind, digits), kind.si_text),
    )


def _range(low: str, high: str, unit: str) -> str:
    return f"{low.removesuffix(unit).strip()} to {high}"


def change(before: Quantity, after: Quantity, kind: Kind) -> Markup:
    """What one quantity became, for a page: "82.2 → 61.9 °F"."""
    (us, si), (us_after, si_after) = _numbers(before, kind), _numbers(after, kind)
    return spans(
        f"{us.removesuffix(kind.us_text).strip()} → {us_after}", f"{si.removesuffix(kind.si_text).strip()} → {si_after}"
    )


def kind_of(knowledge: Knowledge, reading: str) -> Kind:
    """The kind of quantity of a reading."""
    return KINDS[knowledge.readings[reading].kind]


def reading(knowledge: Knowledge, id_: str, value: Any) -> Markup:
    """One reading's value for a page."""
    return shown(value, kind_of(knowledge, id_))


def belief(cause: CauseBelief) -> str:
    """A belief in a word, with its number: "likely (87 %)"."""
    return f"{cause.belief.value} ({percent(cause.probability)})"


def percent(probability: float) -> str:
    """A probability as people read it; never 0 or 100, which nothing here can prove."""
    if probability < 0.01:
        return "under 1 %"
    return "over 99 %" if probability > 0.99 else f"{probability * 100:.0f} %"


def weight(decibans: float) -> str:
    """A weight of evidence in words: "strongly for", "weakly against", "says nothing"."""
    size = abs(decibans)
    if size < WEAK:
        return "no change"
    strength = "strongly" if size >= STRONG else "clearly" if size >= CLEAR else "weakly"
    return f"{strength} {'for' if decibans > 0 else 'against'}"


def bar(decibans: float) -> str:
    """The same as a bar of one to three marks."""
    return "▮" * sum(abs(decibans) >= limit for limit in (WEAK, CLEAR, STRONG))


def signed(decibans: float) -> str:
    """A weight with its sign: "+6.2"."""
    return f"{decibans:+.1f}".replace("-", "−")


_ROLES = {Role.ROOT: "cause", Role.HELPED_BY: "contributing"}


def role(name: str) -> str:
    """The place of a cause in the story, as it is said aloud."""
    return _ROLES.get(Role(name), name)


def yes_no(answer: bool | None, yes: str = "yes", no: str = "no") -> str:
    """A truth that may be unknown."""
    return NOT_KNOWN if answer is None else yes if answer else no


def minutes(count: float) -> str:
    """A time needed: "1 h 20 min"."""
    hours, rest = divmod(round(count), 60)
    return f"{hours} h {rest} min" if hours and rest else f"{hours} h" if hours else f"{rest} min"


def span_of_time(time: Quantity) -> str:
    """How long after something: "12 days", "6 h"."""
    days = float(time.to("day").magnitude)
    return f"{days:.0f} day{'s' if round(days) != 1 else ''}" if days >= 1 else f"{days * 24:.0f} h"


def number_word(count: int) -> str:
    """A small number at the beginning of a sentence: "Two"."""
    return {2: "Two", 3: "Three", 4: "Four"}.get(count, str(count))


def day(date: dt.date) -> str:
    """A date as Americans write it: "January 24, 2024"."""
    return f"{date:%B} {date.day}, {date.year}"


def held_back(stops: Iterable[StopNotice]) -> str:
    """Why a list of tests is short, or none: the notices that are open; empty while none is."""
    open_ = [stop for stop in stops if stop.open]
    names = listed(stop.name for stop in open_)
    if any(stop.leave for stop in open_):
        return f"Stop-use notice open ({names}): leave, and call from outside. Nothing else is proposed."
    return f"Stop-use notice open ({names}): do what it says first. Tests it forbids are left out." if names else ""


def listed(words: Iterable[str]) -> str:
    """ "a", "a and b", "a, b and c"."""
    *most, last = list(words) or [""]
    return f"{', '.join(most)} and {last}" if most else last


def within(name: str) -> str:
    """A name inside a sentence: no capital, unless it begins with an abbreviation ("CO alarm", "ECM motor")."""
    return name[:1].lower() + name[1:] if name[1:2].islower() else name


def sentence(words: str) -> str:
    """Begun with a capital and ended with a stop."""
    words = words.strip()
    return words and words[0].upper() + words[1:] + ("" if words[-1] in ".!?" else ".")
