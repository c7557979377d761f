"""Replacing the furnace: what the house needs, what would suit it, and whether these ducts carry it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from causebook import quantity as qty
from causebook.physics.airpath import solve
from causebook.physics.building import (
    cooling_airflow,
    delivered_heat,
    design_heat_loss,
    heat_loss_rate_from_fuel,
    heat_loss_rate_from_run_time,
    oversizing,
)
from causebook.physics.fan import Blower, ConstantAirflow, Fan
from causebook.physics.limits import LIMITS
from causebook.physics.whatif import Change, Plate, ReplaceFurnace, SetInput
from causebook.quantity import BTUH, CFM, OutOfRange
from causebook.sizing.found import Found
from causebook.sizing.plan import Foretold, Plan
from causebook.sizing.shapes import text, work
from causebook.survey.model import Survey, Work

INPUTS = (30, 40, 45, 60, 70, 80, 90, 100, 110, 120)
"""Inputs in which furnaces are built, in 1000 Btu/h; common practice, no source."""
INDOOR = qty.q(70, "degF")
"""Indoor temperature of a design heat loss where the case states none, or a house that was not being heated."""
LIVED_IN = qty.q(55, "degF")
"""Colder than this a house was not being heated; common practice, no source."""
SPREAD = 0.04
"""Standard uncertainty of a new furnace's output before it is clocked, as a share; expert estimate."""
SPREADS = {"stated": 0.10, "UA": 0.15, "run time": 0.12, "fuel": 0.15}
"""Standard uncertainty of a design heat loss by its method, as a share; expert estimates."""


@dataclass(frozen=True, slots=True)
class Load:
    """A design heat loss with its uncertainty [W], the method and the calculation."""

    size: float
    sd: float
    method: str
    work: Work


def loads(surveyed: Survey) -> tuple[Load, ...]:
    """The design heat loss by every method the case allows, the surest first."""
    return tuple(_loads(surveyed))


def _loads(surveyed: Survey) -> Iterator[Load]:
    case = surveyed.case
    site = case.file.site
    stated = site.design_heat_loss or next(
        (t.value for s in case.steps for t in s.readings if t.reading == "design-heat-loss" and not t.void), None
    )
    if stated is not None:
        yield _load(
            qty.si(stated, qty.HEAT_RATE),
            "stated",
            "as worked out for the house, room by room",
            {"design heat loss": qty.show(stated, qty.HEAT_RATE)},
            "a load calculation of the case",
        )
    if site.design_outdoors is None:
        return
    indoor = site.room if site.room is not None and site.room > LIVED_IN else INDOOR
    ends = {"indoors": qty.show(indoor, qty.TEMPERATURE), "outdoors": qty.show(site.design_outdoors, qty.TEMPERATURE)}
    heat = max((s.input.value for s in surveyed.sets if s.input), default=surveyed.plate_input)
    share = surveyed.heat.efficiency
    if site.run_share is not None and site.outdoors is not None and heat is not None:
        given = delivered_heat(heat, share.value, site.run_share)
        try:
            rate = heat_loss_rate_from_run_time(given, indoor, site.outdoors)
        except OutOfRange:  # too mild a day to tell
            pass
        else:
            yield _load(
                qty.si(design_heat_loss(rate, indoor, site.design_outdoors), qty.HEAT_RATE),
                "run time",
                "loss = input × efficiency × share of the hour × (design difference ÷ difference then)",
                {
                    "input": qty.show(heat, qty.HEAT_RATE),
                    "efficiency": qty.show(share.value, qty.SHARE),
                    "share of the hour": qty.show(site.run_share, qty.SHARE),
                    "outdoors then": qty.show(site.outdoors, qty.TEMPERATURE),
                }
                | ends,
                "steady balance; gains not counted",
            )
    if site.building_ua is not None:
        yield _load(
            qty.si(design_heat_loss(site.building_ua, indoor, site.design_outdoors), qty.HEAT_RATE),
            "UA",
            "loss = loss per degree × (indoors − outdoors)",
            {"loss per degree": qty.show(site.building_ua, qty.HEAT_LOSS_RATE)} | ends,
            "ASHRAE Handbook—Fundamentals, steady conduction and infiltration",
        )
    if site.heating_fuel is not None and site.degree_days is not None and share is not None:
        rate = heat_loss_rate_from_fuel(site.heating_fuel, share.value, site.degree_days)
        yield _load(
            qty.si(design_heat_loss(rate, indoor, site.design_outdoors), qty.HEAT_RATE),
            "fuel",
            "loss = fuel × efficiency ÷ degree-days × (indoors − outdoors)",
            {
                "fuel": qty.show(site.heating_fuel, qty.ENERGY),
                "efficiency": qty.show(share.value, qty.SHARE),
                "degree-days": qty.show(site.degree_days, qty.DEGREE_DAYS),
            }
            | ends,
            "degree-day method, ASHRAE Handbook—Fundamentals, energy estimating",
        )


def _load(size: float, method: str, formula: str, terms: dict[str, str], source: str) -> Load:
    sd = SPREADS[method] * size
    return Load(
        size,
        sd,
        method,
        work(
            f"Design heat loss, {method}",
            formula,
            terms,
            f"{text(size, qty.HEAT_RATE)} ± {text(sd, qty.HEAT_RATE)}",
            source,
            "uncertainty of the method: expert estimate",
        ),
    )


def size_for(load: Load, efficiency: float, derate: float) -> float | None:
    """The smallest input built [W, at sea level] whose output covers the load and one standard uncertainty more.

    None where none does.
    """
    return next((i * 1000 * BTUH for i in INPUTS if i * 1000 * BTUH * efficiency * derate >= load.size + load.sd), None)


def replaced(surveyed: Survey, found: Found) -> tuple[Plan, ...]:
    """A like-for-like replacement and one that suits the house, both on the ducts as they are; () without a load."""
    furnace, heat = surveyed.case.file.furnace, surveyed.heat
    known = loads(surveyed)
    if furnace is None or not known or heat.output is None or found.system.heat is None:
        return ()
    efficiency = qty.si(heat.efficiency.value, qty.SHARE)
    plate_input = qty.si(furnace.input, qty.HEAT_RATE)
    derate = (heat.plate_input or plate_input) / plate_input
    out = [
        _judged(
            new_furnace(
                found,
                "like-for-like",
                "The same size on the same ducts",
                plate_input * derate,
                efficiency,
                found.system.plate,
                load_works(known, heat.output),
            ),
            known[0],
        )
    ]
    fits = size_for(known[0], efficiency, derate)
    if fits is not None and fits < plate_input * 0.99:
        output = fits * efficiency * derate
        out.append(
            _judged(
                new_furnace(
                    found,
                    "smaller-furnace",
                    f"Furnace of {text(fits, qty.HEAT_RATE)} input",
                    fits * derate,
                    efficiency,
                    found.system.plate,
                    load_works(known, output),
                ),
                known[0],
            )
        )
    return tuple(out)


def _judged(plan: Plan, load: Load) -> Plan:
    """The plan with what its output lacks or has too much against the load."""
    ratio = (plan.output or 0.0) / load.size
    high = _most()
    if 1.0 <= ratio <= high:
        return plan
    return replace(plan, short_of=(f"output {ratio:.1f} times the design heat loss, 1.0 to {high:.1f} suits",))


def suits(surveyed: Survey, output: float, old: float) -> bool:
    """Does an output [W] suit the house or, where its load is not known, is it at least a tenth below the old one?"""
    known = loads(surveyed)
    if not known:
        return output <= 0.9 * old
    return 1.0 <= output / known[0].size <= _most()


def _most() -> float:
    most = LIMITS["oversizing_furnace"].high
    assert most is not None  # an upper limit in the data
    return qty.si(most, qty.SHARE)


def new_furnace(
    found: Found,
    id_: str,
    name: str,
    put_in: float,
    efficiency: float,
    plate: Plate,
    works: Sequence[Work],
    fan: ConstantAirflow | None = None,
    blower_words: str = "",
) -> Plan:
    """Another furnace [input in W] on the same air path; its blower as the old one's table, unless one is given."""
    mid = mid_airflow(found, put_in * efficiency, plate)
    said = f"Furnace of {text(put_in, qty.HEAT_RATE)} input, {text(put_in * efficiency, qty.HEAT_RATE)} output"
    if fan is None:
        blower: Blower = _old_blower(found, mid)
        said += "; its blower taken as the old one's table at the setting that suits, since its own is not known"
    else:
        blower = fan
        said += f"; {blower_words}"
    size = qty.from_si(put_in, qty.HEAT_RATE)
    changes: tuple[Change, ...] = (
        ReplaceFurnace(blower, size, qty.from_si(efficiency, qty.SHARE), plate),
        SetInput(size, SPREAD),
    )
    return Plan(
        id_,
        name,
        (said,),
        changes,
        frozenset({"input", "furnace", "motor", "blower", "setting", "limit"}),
        tuple(works),
        output=put_in * efficiency,
        airflow=mid if fan is None else fan.airflow,
        effort=6,
    )


def mid_airflow(found: Found, output: float, plate: Plate) -> float | None:
    """Airflow [m³/s] that takes an output [W] up in the middle of the plate's rise range; None without a range."""
    if plate.rise_minimum is None or plate.rise_maximum is None:
        return None
    return output / (found.evidence.sensible * (plate.rise_minimum + plate.rise_maximum) / 2)


def _old_blower(found: Found, wanted: float | None) -> Fan:
    """The old blower as its table says, at the setting that comes nearest to the airflow wanted [m³/s]."""
    old = found.system.fan
    assert isinstance(old, Fan)  # the diagnosis makes no other blower
    if wanted is None:
        return Fan(old.table, old.setting, 1.0)
    path = found.system.path.each(lambda part: replace(part, resistance=float(part.resistance[0])))
    return min(
        (Fan(old.table, name, 1.0) for name in old.table.settings),
        key=lambda fan: abs(float(solve(path, fan, found.density).airflow_si) - wanted),
    )


def load_works(known: Sequence[Load], output: float) -> tuple[Work, ...]:
    """The load by each method, and the output against the surest of them."""
    first = known[0]
    ratio = oversizing.si(output, first.size)
    spread = ratio * first.sd / first.size
    high = _most()
    says = (
        "suits the house"
        if 1.0 <= ratio <= high
        else "too small"
        if ratio < 1
        else f"{ratio:.1f} times what the house needs"
    )
    return (
        *(load.work for load in known),
        work(
            "Output against the load",
            "ratio = output ÷ design heat loss",
            {"output": text(output, qty.HEAT_RATE), "design heat loss": text(first.size, qty.HEAT_RATE)},
            f"{ratio:.2f} ± {spread:.2f}",
            f"ceiling of {high:.0%} in print: {LIMITS['oversizing_furnace'].source}",
            says,
        ),
    )


def carried(found: Found, told: Foretold) -> tuple[Work, ...]:
    """Whether ducts, filter and coil carry what the new blower moves through them within its static rating."""
    static, most, flow = told.get("static"), told.static_maximum, told.terms["airflow"].si
    if static is None or most is None:
        return ()
    terms = {p: told.get(f"drop {p}") for p in found.system.plate.counted}
    return (
        work(
            "Will these ducts carry it?",
            "static = Σ drop at the airflow predicted",
            {"airflow predicted": text(flow, qty.AIRFLOW)}
            | {part: text(drop.si, qty.AIR_PRESSURE) for part, drop in terms.items() if drop is not None},
            text(static.si, qty.AIR_PRESSURE),
            "parts as found or as changed, each by its own exponent",
            f"rating {text(most, qty.AIR_PRESSURE)}: "
            + (
                "carried, if that is the rating of the new plate"
                if static.si <= most
                else "not carried; at the rating they carry about "
                + text(flow * math.sqrt(most / static.si), qty.AIRFLOW)
            ),
        ),
    )


def cooling_work(tons: float, airflow: float) -> Work:
    """The airflow the cooling side asks for, against an airflow [m³/s]."""
    least = cooling_least(tons)
    return work(
        "Airflow of the cooling side",
        "airflow per ton = airflow ÷ tons",
        {"airflow": text(airflow, qty.AIRFLOW), "capacity": f"{tons:g} ton"},
        f"{airflow / CFM / tons:.0f} cfm/ton",
        "350 cfm/ton at least: California Title 24 §150.0(m)13, from memory",
        f"at least {text(least, qty.AIRFLOW)}",
    )


def cooling_least(tons: float) -> float:
    """Least airflow of a cooling coil [m³/s]: 350 cfm/ton."""
    return float(cooling_airflow.si(tons * 3516.8528, 350 * CFM / 3516.8528))


def cooling_short(tons: float, airflow: float) -> str:
    """What an airflow [m³/s] below the cooling side's least means, in a sentence's part."""
    return (
        f"its heating airflow is {airflow / CFM / tons:.0f} cfm/ton: to cool, the coil of {tons:g} ton asks for a "
        f"faster setting, and for ducts that carry {text(cooling_least(tons), qty.AIRFLOW)}"
    )
