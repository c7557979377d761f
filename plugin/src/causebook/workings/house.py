"""Worked house: heat loss by three methods, furnace against it, air for combustion."""

from __future__ import annotations

from collections.abc import Mapping

from causebook import quantity as qty
from causebook.physics import building
from causebook.physics.air import air_state
from causebook.physics.limits import LIMITS
from causebook.quantity import Quantity
from causebook.workings.airflow import EFFICIENCY, ELEVATION, INPUT
from causebook.workings.forms import Insulated, One, Table
from causebook.workings.model import Field, Line, Worked, Working

INDOOR = Field("indoor", "Indoors", One(qty.TEMPERATURE), otherwise="70 degF")
OUTDOOR = Field("outdoor", "Outdoors", One(qty.TEMPERATURE))
DESIGN = Field("design-outdoor", "Outdoors on the design day", One(qty.TEMPERATURE))


def _design(rate: Quantity, warm: Quantity, design_outdoor: Quantity, words: str = "indoors") -> Line:
    return Line(
        "Heat loss on the design day",
        building.design_heat_loss(rate, warm, design_outdoor),
        qty.HEAT_RATE,
        f"loss for each degree × ({words} − outdoors)",
    )


def _heat_loss_by_surfaces(
    surfaces: Mapping[str, tuple[Quantity, Quantity]],
    volume: Quantity,
    air_changes: Quantity,
    indoor: Quantity,
    outdoor: Quantity,
    elevation: Quantity,
) -> Worked:
    walls = building.envelope_heat_loss_rate([building.Surface(*surface) for surface in surfaces.values()])
    leak = building.infiltration_by_air_change(volume, air_changes)
    drift = building.airflow_heat_loss_rate(leak, air_state(indoor, elevation).sensible_factor)
    rate = walls + drift
    return Worked(
        (_design(rate, indoor, outdoor), Line("Loss for each degree", rate, qty.HEAT_LOSS_RATE, "envelope + air")),
        (
            Line("Through the envelope", walls, qty.HEAT_LOSS_RATE, "sum of area × U"),
            Line("Outdoor air", leak, qty.AIRFLOW, "volume × air changes"),
            Line("With the air", drift, qty.HEAT_LOSS_RATE, "airflow × sensible factor"),
        ),
    )


def _heat_loss_by_run_time(
    input: Quantity,
    efficiency: Quantity,
    run_share: Quantity,
    indoor: Quantity,
    outdoor: Quantity,
    gains: Quantity,
    design_outdoor: Quantity,
) -> Worked:
    delivered = building.delivered_heat(input, efficiency, run_share)
    rate = building.heat_loss_rate_from_run_time(delivered, indoor, outdoor, gains)
    return Worked(
        (_design(rate, indoor, design_outdoor),),
        (
            Line("Mean heat delivered", delivered, qty.HEAT_RATE, "input × efficiency × share of the time"),
            Line("Loss for each degree", rate, qty.HEAT_LOSS_RATE, "(delivered + gains) ÷ (indoors − outdoors)"),
        ),
        "Cycling losses are not in it; a cold, dull, calm night gives the best number.",
    )


def _heat_loss_by_fuel(
    fuel: Quantity,
    base_load: Quantity,
    efficiency: Quantity,
    degree_days: Quantity,
    balance_point: Quantity,
    design_outdoor: Quantity,
) -> Worked:
    rate = building.heat_loss_rate_from_fuel(fuel, efficiency, degree_days, base_load)
    return Worked(
        (_design(rate, balance_point, design_outdoor, "balance point"),),
        (Line("Loss for each degree", rate, qty.HEAT_LOSS_RATE, "(fuel − base load) × efficiency ÷ degree-days"),),
    )


def _oversizing(output: Quantity, design_loss: Quantity) -> Worked:
    ceiling = LIMITS["oversizing_furnace"]
    assert ceiling.high is not None
    ratio = building.oversizing(output, design_loss)
    return Worked(
        (
            Line("Output over loss", ratio, qty.SHARE, "output ÷ heat loss on the design day"),
            Line(
                "Time it would run that day",
                1 / ratio if ratio.magnitude > 1 else ratio / ratio,
                qty.SHARE,
                "loss ÷ output, at most all the time",
            ),
        ),
        (),
        f"A ceiling in print: {qty.show(ceiling.high, qty.SHARE)} ({ceiling.source}, {ceiling.status}).",
    )


def _combustion_air(
    volume: Quantity, natural_draft: Quantity, fan_assisted: Quantity, air_changes: Quantity | None
) -> Worked:
    every = natural_draft + fan_assisted
    standard = building.combustion_volume_standard(every)
    results = [
        Line("Volume by the standard method", standard, qty.ROOM_VOLUME, "50 ft³ for each 1000 Btu/h of all inputs")
    ]
    if air_changes is not None:
        results.insert(
            0,
            Line(
                "Volume by the known air change",
                building.combustion_volume_by_infiltration(air_changes, natural_draft, fan_assisted),
                qty.ROOM_VOLUME,
                "(21 × natural draft + 15 × fan-assisted, in 1000 Btu/h) ÷ air changes",
            ),
        )
    needed = results[0].value
    assert isinstance(needed, Quantity)
    enough = qty.si(volume, qty.ROOM_VOLUME) >= qty.si(needed, qty.ROOM_VOLUME)
    opening = building.opening_area(every, "joining spaces")
    return Worked(
        (
            *results,
            Line(
                "Verdict",
                "enough for all combustion air" if enough else "not enough: air from elsewhere",
                None,
                "volume there is against volume needed",
            ),
        ),
        (
            Line(
                "Each of two openings to a joining space",
                opening,
                qty.SMALL_AREA,
                building.OPENINGS["joining spaces"].source,
            ),
        ),
        "Sealed combustion counts for neither. The adopted local code decides.",
    )


KINDS = (
    Working(
        "heat-loss-by-surfaces",
        "Heat loss by surfaces and air",
        (
            Field("surfaces", "Area of", Table(Insulated())),
            Field("volume", "Heated volume", One(qty.ROOM_VOLUME)),
            Field("air-changes", "Air changes", One(qty.AIR_CHANGES)),
            INDOOR,
            OUTDOOR,
            ELEVATION,
        ),
        _heat_loss_by_surfaces,
        "ASHRAE Handbook, Fundamentals 2017, ch. 16 to 18",
    ),
    Working(
        "heat-loss-by-run-time",
        "Heat loss by run time",
        (
            INPUT,
            EFFICIENCY,
            Field("run-share", "Share of the time it ran", One(qty.SHARE)),
            INDOOR,
            OUTDOOR,
            Field("gains", "People, appliances, sun", One(qty.HEAT_RATE), otherwise="0 Btu/h"),
            DESIGN,
        ),
        _heat_loss_by_run_time,
        "steady balance of the house",
    ),
    Working(
        "heat-loss-by-fuel",
        "Heat loss by fuel",
        (
            Field("fuel", "Fuel of the season", One(qty.ENERGY)),
            Field("base-load", "Of it hot water and cooking", One(qty.ENERGY), otherwise="0 therm"),
            EFFICIENCY,
            Field("degree-days", "Degree-days", One(qty.DEGREE_DAYS)),
            Field("balance-point", "Balance point, base of the degree-days", One(qty.TEMPERATURE), otherwise="65 degF"),
            DESIGN,
        ),
        _heat_loss_by_fuel,
        "variable-base degree-days, ASHRAE Handbook, Fundamentals 2017, ch. 19",
    ),
    Working(
        "oversizing",
        "Furnace against house",
        (
            Field("output", "Output", One(qty.HEAT_RATE)),
            Field("design-loss", "Heat loss on the design day", One(qty.HEAT_RATE)),
        ),
        _oversizing,
        "definition",
    ),
    Working(
        "combustion-air",
        "Indoor volume for combustion air",
        (
            Field("volume", "Volume of the space", One(qty.ROOM_VOLUME)),
            Field("natural-draft", "Inputs without a fan", One(qty.HEAT_RATE), otherwise="0 Btu/h"),
            Field("fan-assisted", "Inputs with a fan", One(qty.HEAT_RATE), otherwise="0 Btu/h"),
            Field("air-changes", "Known air changes", One(qty.AIR_CHANGES), needed=False),
        ),
        _combustion_air,
        "NFPA 54 9.3.2, IFGC 304.5",
    ),
)
