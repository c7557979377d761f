"""Words of the rating plate as the trade says them, put into the words of the case file: "PSC", "80 %", "LP".

What the trade's word leaves open is asked, with the choice explained, and never guessed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from causebook.knowledge.model import slug
from causebook.quantity import QuantityError

KIND: Mapping[str, str] = {
    **{form.format(n): "non-condensing" for n in range(78, 84) for form in ("{}", "{}%", "{}-percent", "{}-afue")},
    **{form.format(n): "condensing" for n in range(90, 99) for form in ("{}", "{}%", "{}-percent", "{}-afue", "{}+")},
    "90-plus": "condensing",
    "high-efficiency": "condensing",
}
"""By the efficiency on the plate: 90 % and up condense; common practice, no source."""
FUEL: Mapping[str, str] = {
    **dict.fromkeys(("gas", "ng", "nat", "nat-gas", "natural"), "natural gas"),
    **dict.fromkeys(("lp", "lpg", "lp-gas", "l.p.", "bottled-gas"), "propane"),
}
MOTOR: Mapping[str, str] = {
    **dict.fromkeys(("psc", "psc-motor", "permanent-split-capacitor"), "split capacitor"),
    **dict.fromkeys(("constant-torque-ecm", "ecm-constant-torque", "ct"), "constant torque"),
    **dict.fromkeys(
        ("constant-airflow-ecm", "ecm-constant-airflow", "variable-speed", "constant-cfm"), "constant airflow"
    ),
}
MOTOR_OPEN: Mapping[str, str] = dict.fromkeys(
    ("ecm", "ecm-motor", "variable"),
    "an ECM holds torque (airflow falls as static rises) or airflow (it speeds up): the blower table tells which",
)
KEYS: Mapping[str, str] = {
    **dict.fromkeys(("year", "mfg", "manufactured", "mfg-date", "age", "built"), "made"),
    **dict.fromkeys(("btu", "btuh", "btus", "mbh", "input-btu", "size", "capacity"), "input"),
    **dict.fromkeys(("temperature-rise", "temp-rise", "delta-t", "air-temperature-rise"), "rise"),
    **dict.fromkeys(("max-static", "maximum-static", "max-esp", "rated-static", "external-static"), "static maximum"),
    **dict.fromkeys(("max-outlet", "maximum-outlet", "outlet-max"), "outlet maximum"),
    **dict.fromkeys(("manifold-pressure", "mfld"), "manifold"),
    **dict.fromkeys(("rla", "fla", "amps"), "full load"),
    **dict.fromkeys(("mfd", "cap", "microfarad"), "capacitor"),
    **dict.fromkeys(("rpm",), "speed"),
    **dict.fromkeys(("speed-tap", "tap"), "setting"),
    **dict.fromkeys(("notes", "note", "comment"), "told"),
    **dict.fromkeys(("readings", "measured"), "read"),
    **dict.fromkeys(("saw", "findings"), "seen"),
    **dict.fromkeys(("fixed", "replaced", "repaired"), "changed"),
}
"""Keys as people write them -> the key that is meant, where the spelling alone would not tell."""
CHOICES: Mapping[str, str] = {
    "settled and corrected": "proven, fixed, and read again",
    "settled, not corrected": "proven, not fixed yet",
    "undetermined": "not proven",
    "repair": "read after it was fixed",
    "follow-up": "read on a later visit",
    "split capacitor": "PSC: one winding with a run capacitor",
    "constant torque": "ECM that holds torque; airflow falls as static rises",
    "constant airflow": "ECM that speeds up against static to hold its airflow",
    "non-condensing": "80 %: metal vent, no drain",
    "condensing": "90 % and up: plastic vent and a drain",
    "natural gas": "gas from the street",
    "propane": "LP, from a tank",
}
"""What a word of the case file means to a technician."""


def spoken(words: Mapping[str, str], left_open: Mapping[str, str] = {}) -> Callable[[Any], Any]:
    """A validator that puts the trade's words into ours, asks at those `left_open`, and leaves all others as they are.

    Raises QuantityError with the choice and the reason why the word is not enough.
    """
    ours = tuple(dict.fromkeys(words.values()))

    def settle(value: Any) -> Any:
        said = slug(str(value)).replace("-%", "%")
        if said in left_open:
            raise QuantityError(str(value), " or ".join(f"'{word}'" for word in ours), left_open[said])
        return words.get(said, value)

    return settle
