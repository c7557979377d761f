"""Gas input brought right: orifices, manifold pressure within the plate's range, altitude.

Gas work is for licensed people; every change is followed by a leak check, the clock, CO and oxygen.
"""

from __future__ import annotations

import math

from causebook import quantity as qty
from causebook.casefile.model import Furnace
from causebook.physics.gas import DRILLS, input_scaling, manifold_for_input, nearest_drill
from causebook.physics.limits import LIMITS
from causebook.physics.whatif import ScaleInput, SetInput
from causebook.quantity import INCH, Quantity, QuantityError
from causebook.sizing.found import Found
from causebook.sizing.plan import Plan
from causebook.sizing.shapes import text, work
from causebook.survey.model import Survey, Work

SPREAD = 0.02
"""Standard uncertainty of an input set by orifices and pressure before it is clocked, as a share; expert estimate."""
LICENSED = "licensed gas work: leak check, clock the gas, read CO and oxygen"


def manifold_range(furnace: Furnace) -> tuple[float, float, str]:
    """Manifold pressures that the plate allows [Pa], and where they come from."""
    if furnace.manifold_range is not None:
        low, high = furnace.manifold_range
        return qty.si(low, qty.GAS_PRESSURE), qty.si(high, qty.GAS_PRESSURE), "plate"
    usual = LIMITS["manifold_propane" if furnace.fuel == "propane" else "manifold_natural_gas"]
    assert usual.low is not None and usual.high is not None  # both limits are ranges in the data
    low_si, high_si = qty.si(usual.low, qty.GAS_PRESSURE), qty.si(usual.high, qty.GAS_PRESSURE)
    if furnace.manifold is None:
        return low_si, high_si, usual.source
    # A plate that names one pressure: the usual play about it.
    here, middle = qty.si(furnace.manifold, qty.GAS_PRESSURE), (low_si + high_si) / 2
    return here * low_si / middle, here * high_si / middle, f"plate's pressure with the usual play, {usual.source}"


def manifold_break(furnace: Furnace, pressure: float) -> str | None:
    """The manifold rule broken by a pressure [Pa]; None where it is kept."""
    low, high, source = manifold_range(furnace)
    if low * 0.999 <= pressure <= high * 1.001:
        return None
    return (
        f"manifold {text(pressure, qty.GAS_PRESSURE)}, allowed {text(low, qty.GAS_PRESSURE)} to "
        f"{text(high, qty.GAS_PRESSURE)} ({source})"
    )


def to_plate(surveyed: Survey, found: Found, by: str) -> Plan | None:
    """Input brought to the plate's, altitude allowed for: by the orifices it names or by the manifold ("set-manifold").

    None without a plate input.
    """
    furnace, target = surveyed.case.file.furnace, found.evidence.plate_input
    if furnace is None or target is None:
        return None
    read = manifold_found(surveyed)
    now = found.moments.input.value
    works = [_share(now, target)]
    breaks: tuple[str, ...] = ()
    if by == "set-manifold" and read is not None:
        needed = manifold_for_input.si(read, now, target)
        plate = qty.si(furnace.manifold, qty.GAS_PRESSURE) if furnace.manifold is not None else needed
        low, high, _ = manifold_range(furnace)
        # What the plate prints is set; the input then says whether the orifices are right too.
        setting = plate if low <= plate <= high else needed
        works.append(_manifold(read, now, target, needed, furnace))
        broken = manifold_break(furnace, setting)
        breaks = (broken,) if broken else ()
        return Plan(
            "set-manifold",
            "Manifold pressure as the plate",
            (f"Manifold from {text(read, qty.GAS_PRESSURE)} to {text(setting, qty.GAS_PRESSURE)}; {LICENSED}",),
            (ScaleInput(float(input_scaling.si(read, setting)), SPREAD),),
            frozenset({"input"}),
            tuple(works),
            breaks,
        )
    if by == "orifices":
        named = f"{furnace.orifice} as the plate says" if drill_of(furnace.orifice) else "as plate and altitude ask"
        right = target * _above_plate(furnace, read)
        return Plan(
            by,
            "Orifices of the right size",
            (f"Orifices {named}; {LICENSED}",),
            (ScaleInput(right / now, SPREAD),),
            frozenset({"input"}),
            (*works, *_orifices(furnace, now, right)),
        )
    return Plan(
        by,
        "Input as the plate",
        (f"Input brought to the plate; {LICENSED}",),
        (SetInput(qty.from_si(target, qty.HEAT_RATE), SPREAD),),
        frozenset({"input"}),
        tuple(works),
    )


def _above_plate(furnace: Furnace, read: float | None) -> float:
    """Input that the plate's orifices give at the manifold pressure read [Pa], over that at the plate's own."""
    if read is None or furnace.manifold is None:
        return 1.0
    return float(input_scaling.si(qty.si(furnace.manifold, qty.GAS_PRESSURE), read))


def manifold_found(surveyed: Survey) -> float | None:
    """Manifold pressure as found [Pa], where it was read with gas flowing: without, no input follows from it."""
    for one in reversed(surveyed.sets):
        if one.phase == "found" and "manifold" in one.readings:
            read = qty.si(one.readings["manifold"].value, qty.GAS_PRESSURE)
            return read if read > 0 else None
    return None


def drill_of(words: str) -> float | None:
    """Diameter [m] of an orifice by its drill number ("45") or its diameter ("0.082 in"); None for neither."""
    number = words.strip().removeprefix("#").removeprefix("No.").strip()
    if number.isdigit():
        drill = DRILLS.get(int(number))
        return None if drill is None else qty.si(drill, qty.SMALL_LENGTH)
    try:
        return qty.si(qty.parse(words, qty.SMALL_LENGTH), qty.SMALL_LENGTH)
    except QuantityError:
        return None


def drilled(surveyed: Survey, found: Found, size: float, old: float | None) -> Plan | None:
    """Orifices of another size [m], by the area against the old ones or, where those are not known, the plate's.

    None where neither is known.
    """
    furnace, now = surveyed.case.file.furnace, found.moments.input.value
    plate, target = (
        drill_of(furnace.orifice) if furnace is not None and furnace.orifice else None,
        found.evidence.plate_input,
    )
    if old is not None:
        base, at = old, now
    elif furnace is not None and plate is not None and target is not None:
        base, at = plate, target * _above_plate(furnace, manifold_found(surveyed))
    else:
        return None
    put_in = at * (size / base) ** 2
    shown = work(
        "Input with other orifices",
        "input = input before × (new diameter ÷ old diameter)²",
        {
            "input before": text(at, qty.HEAT_RATE),
            "old": text(base, qty.SMALL_LENGTH, 4),
            "new": text(size, qty.SMALL_LENGTH, 4),
        },
        text(put_in, qty.HEAT_RATE),
        "orifice equation, NFPA 54 Annex E: flow goes with the area",
    )
    return Plan(
        "orifices",
        "Other orifices",
        (f"Orifices of {text(size, qty.SMALL_LENGTH, 4)}{_number(size)}; {LICENSED}",),
        (ScaleInput(put_in / now, SPREAD),),
        frozenset({"input"}),
        (shown,),
    )


def pressed(surveyed: Survey, found: Found, pressure: float) -> Plan | None:
    """Another manifold pressure [Pa]; None where the one found is not known."""
    furnace = surveyed.case.file.furnace
    if furnace is None:
        return None
    read = manifold_found(surveyed)
    if read is None:
        return None
    factor = float(input_scaling.si(read, pressure))
    shown = work(
        "Input at another manifold pressure",
        "input = input before × √(new pressure ÷ old pressure)",
        {
            "input before": text(found.moments.input.value, qty.HEAT_RATE),
            "old": text(read, qty.GAS_PRESSURE),
            "new": text(pressure, qty.GAS_PRESSURE),
        },
        text(found.moments.input.value * factor, qty.HEAT_RATE),
        "orifice equation, NFPA 54 Annex E",
    )
    broken = manifold_break(furnace, pressure)
    return Plan(
        "set-manifold",
        f"Manifold at {text(pressure, qty.GAS_PRESSURE)}",
        (f"Manifold from {text(read, qty.GAS_PRESSURE)} to {text(pressure, qty.GAS_PRESSURE)}; {LICENSED}",),
        (ScaleInput(factor, SPREAD),),
        frozenset({"input"}),
        (shown,),
        (broken,) if broken else (),
    )


def input_set(put_in: Quantity) -> Plan:
    """Another input, however it is brought about."""
    return Plan(
        "input",
        f"Input {qty.show(put_in, qty.HEAT_RATE)}",
        (f"Input set to {qty.show(put_in, qty.HEAT_RATE)}; {LICENSED}",),
        (SetInput(put_in, SPREAD),),
        frozenset({"input"}),
    )


def _share(now: float, target: float) -> Work:
    return work(
        "Input against the plate",
        "share = input ÷ plate input",
        {"input": text(now, qty.HEAT_RATE), "plate": text(target, qty.HEAT_RATE)},
        f"{now / target:.0%}",
        "definition",
        "right from 95 to 102 % of the plate, altitude allowed for (common practice, no source)",
    )


def _manifold(read: float, now: float, target: float, needed: float, furnace: Furnace) -> Work:
    low, high, source = manifold_range(furnace)
    inside = low <= needed <= high
    return work(
        "Manifold pressure for the plate's input",
        "pressure = pressure read × (input wanted ÷ input now)²",
        {
            "pressure read": text(read, qty.GAS_PRESSURE),
            "input wanted": text(target, qty.HEAT_RATE),
            "input now": text(now, qty.HEAT_RATE),
        },
        text(needed, qty.GAS_PRESSURE, 2),
        "orifice equation, NFPA 54 Annex E",
        f"allowed {text(low, qty.GAS_PRESSURE)} to {text(high, qty.GAS_PRESSURE)} ({source})"
        + ("" if inside else ": the orifices, not the pressure, must bring the rest"),
    )


def _orifices(furnace: Furnace, now: float, right: float) -> list[Work]:
    plate = drill_of(furnace.orifice) if furnace.orifice else None
    if plate is None:
        return []
    size = plate * math.sqrt(now / right)
    return [
        work(
            "What the input says about the orifices",
            "diameter = plate diameter × √(input ÷ input with the plate's)",
            {
                "plate diameter": f"{text(plate, qty.SMALL_LENGTH, 4)}, {furnace.orifice}",
                "input": text(now, qty.HEAT_RATE),
                "input with the plate's": text(right, qty.HEAT_RATE),
            },
            f"{text(size, qty.SMALL_LENGTH, 4)}{_number(size)}",
            "orifice equation, NFPA 54 Annex E: flow goes with the area",
            "at the manifold pressure read; where none was, at the plate's",
        )
    ]


def _number(size: float) -> str:
    """The drill nearest to a diameter [m], in words; empty beyond the drills known."""
    if not 0.0134 <= size / INCH <= 0.0936:
        return ""
    return f", near drill No. {nearest_drill(qty.from_si(size, qty.SMALL_LENGTH))}"
