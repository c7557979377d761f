"""The review of the reasoning: does a case argue soundly, beside being spelled right?

`RULES` documents every rule of the review.  Those that need only the case are run here, on reading; those that need
its workup are raised where the workup is made, by the same `objection`.  A case answers a rule by name with a reason:

    answered: {taps-differ: "The coil tap was drilled only at the repair."}
"""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from causebook import quantity as qty
from causebook.casefile.doubts import doubts, taps, valid
from causebook.casefile.identifying import identifying, in_file_name, published_texts
from causebook.casefile.model import Case, CaseStep, Conclusion, Outcome, Taken, tested
from causebook.casefile.parts import known_parts, parts_named
from causebook.casefile.plate import NEEDS
from causebook.knowledge.model import Knowledge, slug
from causebook.problems import Problem, Severity, did_you_mean


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule of the review; `by_workup` marks those that need more than the case."""

    id: str
    severity: Severity
    sentence: str
    by_workup: bool = False


_ALL = (
    Rule(
        "root-untested",
        Severity.WARNING,
        "A root names what changed when it was taken away (a step `with:` its part changed, or readings after the "
        "repair), or its reason says `not tested`.",
    ),
    Rule("ruled-out-without-reason", Severity.ERROR, "Whatever is ruled out has the reason beside it."),
    Rule(
        "boundary-unstated",
        Severity.WARNING,
        "Static is compared with the plate's maximum only when the plate says which parts count as external.",
    ),
    Rule(
        "before-or-after",
        Severity.WARNING,
        "A step that changes something and reads says whether it was read before or after the change: "
        "`after: repair`, or the readings in a step of their own.",
    ),
    Rule(
        "plate-value-missing",
        Severity.WARNING,
        "A reading that is held against the plate or the site has that value in the case file.",
    ),
    Rule("taps-differ", Severity.WARNING, "Readings after the repair are taken at the taps that were read as found."),
    Rule(
        "reading-doubtful",
        Severity.WARNING,
        "A reading lies where such readings lie, and so does its difference from its fellow. Until the case answers, "
        "one that does not is struck.",
    ),
    Rule(
        "pressure-order",
        Severity.WARNING,
        "Going with the air, pressure falls from tap to tap and rises only across the wheel: suction before it, "
        "pressure after it. Readings out of order by more than their error are struck.",
    ),
    Rule(
        "rise-not-difference",
        Severity.WARNING,
        "A rise that was read equals supply air less return air of the same step. Until the case answers, the two "
        "temperatures count and the rise is struck.",
    ),
    Rule(
        "part-unknown",
        Severity.WARNING,
        "What was `changed` is a part that the words of the library know, so that it is found again.",
    ),
    Rule(
        "stop-open",
        Severity.ERROR,
        "A case called corrected says how every stop-use notice in it was ended (`stop closed`).",
    ),
    Rule(
        "corrected-unshown",
        Severity.WARNING,
        "A case called corrected shows by what was read or seen after the repair that the complaint is gone.",
        by_workup=True,
    ),
    Rule(
        "undetermined-without-test", Severity.ERROR, "An undetermined case says what would settle it (`would settle`)."
    ),
    Rule(
        "identifying",
        Severity.WARNING,
        "What gets published holds no phone number, e-mail or street address, in texts and in names of files; such "
        "things stand under `private`.",
    ),
    Rule("customer-words", Severity.WARNING, "The customer's text holds no ids and no figures of the rating plate."),
    Rule(
        "airflow-methods-disagree",
        Severity.WARNING,
        "Two ways to the same airflow agree within their uncertainty.",
        by_workup=True,
    ),
    Rule(
        "drops-do-not-add-up",
        Severity.WARNING,
        "The drops of the parts add up to the static they belong to.",
        by_workup=True,
    ),
    Rule(
        "conclusion-unsupported",
        Severity.WARNING,
        "The readings support the stated root at least as well as its rivals.",
        by_workup=True,
    ),
    Rule(
        "stop-closed-unclear",
        Severity.WARNING,
        "`stop closed` names the notice it ends by its id, where more than one is open; a notice it does not name "
        "stays open.",
        by_workup=True,
    ),
    Rule(
        "option-not-understood",
        Severity.WARNING,
        "A change of an option is written in a form that can be worked out.",
        by_workup=True,
    ),
)
RULES: Mapping[str, Rule] = {rule.id: rule for rule in _ALL}


def answered(case: Case, rule: str) -> str:
    """The author's reason why a rule does not hold for this case; empty when not answered.

    KeyError for a name that is no rule.
    """
    return case.file.answered.get(RULES[rule].id, "")


def objection(case: Case, rule: str, place: str, found: str, expected: str, hint: str = "") -> list[Problem]:
    """A rule's objection as a list of one located problem; an empty list when the case answers the rule.

    `place` is a dotted path of `case.marks`; the nearest part above it that has a line is named.
    """
    if answered(case, rule):
        return []
    return [
        Problem(
            case.path,
            case.line(place),
            1,
            place,
            found,
            expected,
            hint or f"or say under `answered: {{{rule}: …}}` why not",
            RULES[rule].severity,
            rule,
        )
    ]


def review(case: Case, knowledge: Knowledge) -> list[Problem]:
    """What the rules that need only the case object to, in file order."""
    return sorted(problem for check in _CHECKS for problem in check(case, knowledge))


# ---------------------------------------------------------------- conclusions


def _conclusions(case: Case) -> Iterator[tuple[str, Conclusion]]:
    for number, visit in enumerate(case.file.visits, 1):
        if visit.concluded:
            yield f"visits.{number}.concluded", visit.concluded


def _root_untested(case: Case, knowledge: Knowledge) -> Iterator[Problem]:
    if not case.conclusion:
        return
    for cause, reason in case.conclusion.root.items():
        if tested(reason) and not any(_tries(step, cause, knowledge) for step in case.steps):
            yield from objection(
                case,
                "root-untested",
                f"{case.place_of_root}.{cause}",
                "nothing was tried on it",
                "a step `with:` its part changed, readings after the repair, or the words `not tested` in the reason",
            )


def _tries(step: CaseStep, cause: str, knowledge: Knowledge) -> bool:
    """Was something read or seen with the cause's part changed, or after the repair?"""
    if not (step.readings or step.seen):
        return False
    return step.step.after != "" or bool(_parts(cause, knowledge) & {slug(part) for part in step.step.with_})


_STATES_OF = {
    "supply": {"supply", "registers", "dampers", "zones"},
    "return": {"return", "inner-doors"},
    "setting": {"blower"},
    "motor": {"blower"},
    "input": {"burner"},
}
"""Unknown of the model -> the parts whose states change it, where the names differ."""


def _parts(cause: str, knowledge: Knowledge) -> set[str]:
    known = knowledge.causes[cause]
    acts_on: set[str] = {effect.on for effect in known.effects}
    return {slug(known.part)} | acts_on.union(*(_STATES_OF.get(part, set()) for part in acts_on))


def _ruled_out_without_reason(case: Case, knowledge: Knowledge) -> Iterator[Problem]:
    for place, conclusion in _conclusions(case):
        for cause, reason in conclusion.not_it.items():
            if not reason.strip():
                yield from objection(
                    case,
                    "ruled-out-without-reason",
                    f"{place}.not it.{cause}",
                    "has no reason",
                    "what cleared it: a reading, something seen or a change tried",
                )


def _stop_open(case: Case, knowledge: Knowledge) -> Iterator[Problem]:
    if case.file.outcome not in (Outcome.CORRECTED, Outcome.FIRST_WRONG):
        return
    stopped = ""
    for place, conclusion in _conclusions(case):
        stopped = f"{place}.stop" if conclusion.stop else stopped
        stopped = "" if conclusion.endings else stopped
    if stopped:
        yield from objection(
            case,
            "stop-open",
            stopped,
            f"is open on a case called {case.file.outcome.value!r}",
            "`stop closed:` with what was corrected and who put it back into service",
        )


def _undetermined(case: Case, knowledge: Knowledge) -> Iterator[Problem]:
    if case.file.outcome is Outcome.UNDETERMINED and not (case.conclusion and case.conclusion.would_settle.strip()):
        yield from objection(
            case,
            "undetermined-without-test",
            "outcome",
            "nothing says what would settle it",
            "`would settle:` under `concluded`",
        )


# ---------------------------------------------------------------- readings


def _place(case: Case, taken: Taken) -> str:
    return _place_of(case, case.steps[taken.step - 1], f"read.{taken.reading}")


def _place_of(case: Case, step: CaseStep, key: str) -> str:
    before = sum(len(visit.steps) for visit in case.file.visits[: step.visit - 1])
    return f"visits.{step.visit}.steps.{step.number - before}.{key}"


def _boundary_unstated(case: Case, knowledge: Knowledge) -> Iterator[Problem]:
    plate = case.file.furnace
    if (
        plate
        and plate.static_maximum is not None
        and not plate.counted_as_external
        and any(taps(step, knowledge) or "external-static" in valid(step) for step in case.steps)
    ):
        yield from objection(
            case,
            "boundary-unstated",
            "furnace.static maximum",
            "static was read, and the plate's boundary is not stated",
            "`counted as external:` with the parts that the rating counts, such as [return, filter, coil, supply]",
        )


def _before_or_after(case: Case, knowledge: Knowledge) -> Iterator[Problem]:
    for step in case.steps:
        if step.step.changed and step.readings and not step.step.after:
            first = _place(case, step.readings[0])
            yield from objection(
                case,
                "before-or-after",
                first.rpartition(".read.")[0],
                f"changes {', '.join(step.step.changed)} and reads: was this read before or after the change?",
                "`after: repair` in this step, or the readings from before in a step of their own above it",
            )


def _plate_value_missing(case: Case, knowledge: Knowledge) -> Iterator[Problem]:
    first = {name: taken for step in reversed(case.steps) for name, taken in valid(step).items() if name in NEEDS}
    for name, taken in first.items():
        missing = [place.split(".") for place in NEEDS[name] if _stated(case, place) is None]
        if missing:
            yield from objection(
                case,
                "plate-value-missing",
                _place(case, taken),
                "read, and the plate's value to judge it by is not stated",
                " and ".join(f"`{key}:` under `{block}`" for block, key in missing),
            )


def _stated(case: Case, place: str) -> object:
    """What stands at a dotted path of the case file; None when nothing does."""
    return functools.reduce(lambda block, key: getattr(block, key.replace(" ", "_"), None), place.split("."), case.file)


def _taps_differ(case: Case, knowledge: Knowledge) -> Iterator[Problem]:
    as_found = _tap_readings((s for s in case.steps if not s.step.after and not s.step.with_), knowledge)
    for mode, after in _tap_readings((s for s in case.steps if s.step.after and not s.step.with_), knowledge).items():
        found = as_found.get(mode, {})
        new = [taken for name, taken in after.items() if name not in found]
        if found and new:
            names = ", ".join(knowledge.readings[taken.reading].name.lower() for taken in new)
            yield from objection(
                case,
                "taps-differ",
                _place(case, new[0]),
                f"{names}: not read as found",
                "the taps of the readings as found",
            )


def _tap_readings(steps: Iterable[CaseStep], knowledge: Knowledge) -> dict[str, dict[str, Taken]]:
    """Mode of the blower -> reading id -> reading, for the numbered taps."""
    found: dict[str, dict[str, Taken]] = {}
    for step in steps:
        for _, taken in taps(step, knowledge):
            found.setdefault(step.step.mode or "heating", {}).setdefault(taken.reading, taken)
    return found


def _doubtful(case: Case, knowledge: Knowledge) -> Iterator[Problem]:
    for doubt in doubts(case.steps, case.file.answered, knowledge):
        yield from objection(
            case,
            doubt.rule,
            _place(case, doubt.taken),
            doubt.found,
            doubt.expected,
            doubt.hint and f"{doubt.hint} {_STRUCK}",
        )


_STRUCK = "it does not count until you correct it or answer the rule"


def _part_unknown(case: Case, knowledge: Knowledge) -> Iterator[Problem]:
    for step in case.steps:
        for part in step.step.changed:
            if not parts_named(part, knowledge):
                yield from objection(
                    case,
                    "part-unknown",
                    _place_of(case, step, f"changed.{part}"),
                    f"{part!r} is no known part",
                    "a part as the words of the library name it",
                    did_you_mean(slug(part), known_parts(knowledge)),
                )


# ---------------------------------------------------------------- the customer's text

_ID_LIKE = re.compile(r"(?<![a-z0-9_-])[a-z][a-z0-9]*(?:[-_][a-z0-9]+)+")
_NUMBER = re.compile(r"(?<![\w.,])\d[\d,]*(?:\.\d+)?(?![\w])")


def _customer_words(case: Case, knowledge: Knowledge) -> Iterator[Problem]:
    text = case.file.customer
    ids = [word for word in _ID_LIKE.findall(text) if _is_id(word, knowledge)]
    plate = _plate_numbers(case)
    figures = [
        number for number in _NUMBER.findall(text) if _telling(number) and float(number.replace(",", "")) in plate
    ]
    for found, what in ((ids, "an id"), (figures, "a figure of the rating plate")):
        if found:
            yield from objection(
                case, "customer-words", "customer", f"{found[0]!r} is {what}", "plain words for the customer"
            )


def _identifying(case: Case, knowledge: Knowledge) -> Iterator[Problem]:
    """Once for each place: a place that holds two things is looked at whole anyway."""
    named = [("", case.id), *published_texts(case.file)]
    seen = set[tuple[int, str]]()
    for way, text in named:
        alone = re.sub(r"\.1(\.[^.]+)$", r"\1", way)  # a list of one may stand without its dash
        place = alone if way not in case.marks and alone in case.marks else way
        found = in_file_name(str(text)) if not place or isinstance(text, Path) else identifying(text)
        for what, words in found:
            if (case.line(place), words) not in seen:
                seen.add((case.line(place), words))
                yield from objection(
                    case, "identifying", place, f"{words!r} is {what}", "nothing that tells whose house it was"
                )


def _is_id(word: str, knowledge: Knowledge) -> bool:
    name = knowledge.resolve(word)
    return name in knowledge.findings or name in knowledge.causes


def _telling(number: str) -> bool:
    """Three digits or a decimal point: "65" may be many things, "80,000" and "0.50" are off the plate."""
    return "." in number or len(number.replace(",", "")) >= 3


def _plate_numbers(case: Case) -> set[float]:
    plate = case.file.furnace
    if plate is None:
        return set()
    kinds = (
        (plate.input, qty.HEAT_RATE),
        (plate.output, qty.HEAT_RATE),
        (plate.outlet_maximum, qty.TEMPERATURE),
        (plate.static_maximum, qty.AIR_PRESSURE),
        (plate.manifold, qty.GAS_PRESSURE),
        (plate.limit.opens if plate.limit else None, qty.TEMPERATURE),
        (plate.limit.closes if plate.limit else None, qty.TEMPERATURE),
    )
    return {round(qty.us(value, kind), 3) for value, kind in kinds if value is not None}


_CHECKS: tuple[Callable[[Case, Knowledge], Iterator[Problem]], ...] = (
    _root_untested,
    _ruled_out_without_reason,
    _boundary_unstated,
    _before_or_after,
    _plate_value_missing,
    _taps_differ,
    _doubtful,
    _part_unknown,
    _stop_open,
    _undetermined,
    _customer_words,
    _identifying,
)
