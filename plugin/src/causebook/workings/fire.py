"""Worked gas and combustion: the meter, manifold and orifices, altitude, the analyzer's readings."""

from __future__ import annotations

from collections.abc import Mapping

from causebook import quantity as qty
from causebook.physics import air, combustion, gas
from causebook.physics.limits import LIMITS
from causebook.quantity import Quantity, q
from causebook.workings.forms import One, Orifice, Span, words_of
from causebook.workings.model import Field, Line, Worked, Working

FUELS: Mapping[str, gas.Fuel] = {"natural gas": gas.NATURAL_GAS, "propane": gas.PROPANE, "methane": gas.METHANE}
FUEL = Field("fuel", "Fuel", words_of(*FUELS, what="a fuel"), otherwise="natural gas")
HEATING_VALUE = Field("heating-value", "Heating value", One(qty.HEATING_VALUE))


def _share_of(value: Quantity, whole: Quantity, kind: qty.Kind) -> Quantity:
    return q(qty.si(value, kind) / qty.si(whole, kind), "")


def _meter_clock(
    dial: Quantity,
    one_turn: Quantity,
    heating_value: Quantity,
    plate_input: Quantity | None,
    meter_pressure: Quantity | None,
    gas_temperature: Quantity | None,
    elevation: Quantity | None,
) -> Worked:
    correction, says = q(1.0, ""), ""
    steps = [
        Line(
            "Gas through the meter", gas.metered_flow(dial, one_turn), qty.GAS_FLOW, "3600 × dial ÷ seconds of one turn"
        )
    ]
    if meter_pressure is not None:
        if gas_temperature is None or elevation is None:
            raise ValueError("a correction needs gas-temperature and elevation beside meter-pressure")
        says = (
            "The correction is for a meter without compensation, and not where the utility's heating value holds it"
            " already."
        )
        correction = gas.meter_correction(meter_pressure, gas_temperature, elevation)
        steps.append(
            Line(
                "Meter correction",
                correction,
                qty.RATIO,
                "(air pressure + meter pressure) ÷ 14.73 psia × 520 ÷ (gas temperature + 460)",
            )
        )
    found = gas.clocked_input(dial, one_turn, heating_value, correction)
    results = [
        Line(
            "Input",
            found,
            qty.HEAT_RATE,
            "gas through the meter × heating value" + (" × correction" if meter_pressure is not None else ""),
        )
    ]
    if plate_input is not None:
        results.append(
            Line(
                "Share of the plate's input",
                _share_of(found, plate_input, qty.HEAT_RATE),
                qty.SHARE,
                "input ÷ plate input",
            )
        )
    return Worked(tuple(results), tuple(steps), says)


def _manifold_change(
    input: Quantity,
    manifold: Quantity,
    new_manifold: Quantity | None,
    wanted_input: Quantity | None,
    plate_range: tuple[Quantity, Quantity] | None,
) -> Worked:
    results, says = [], ""
    if new_manifold is not None:
        scale = gas.input_scaling(manifold, new_manifold)
        results.append(Line("Input then", input * scale.magnitude, qty.HEAT_RATE, "input × √(new pressure ÷ pressure)"))
        results.append(Line("Change", scale, qty.SHARE, "√(new pressure ÷ pressure)"))
    if wanted_input is not None:
        needed = gas.manifold_for_input(manifold, input, wanted_input)
        results.append(
            Line(
                "Manifold pressure for the wanted input", needed, qty.GAS_PRESSURE, "pressure × (wanted input ÷ input)²"
            )
        )
        if plate_range is not None:
            low, high = (qty.si(end, qty.GAS_PRESSURE) for end in plate_range)
            inside = low <= qty.si(needed, qty.GAS_PRESSURE) <= high
            says = (
                "The plate allows it."
                if inside
                else "The plate does not allow it: the orifices, the gas or the altitude must be right first."
            )
    if not results:
        raise ValueError("nothing is asked; give new-manifold or wanted-input")
    return Worked(tuple(results), (), says)


def _orifice_change(
    orifice: Quantity,
    right_orifice: Quantity,
    manifold: Quantity,
    heating_value: Quantity,
    specific_gravity: Quantity,
    burners: Quantity,
) -> Worked:
    count = burners.to("").magnitude

    def heat(diameter: Quantity) -> Quantity:
        flow = gas.orifice_flow(diameter, manifold, specific_gravity)
        return qty.from_si(count * qty.si(flow, qty.GAS_FLOW) * qty.si(heating_value, qty.HEATING_VALUE), qty.HEAT_RATE)

    found, right = heat(orifice), heat(right_orifice)
    area = q((qty.si(orifice, qty.SMALL_LENGTH) / qty.si(right_orifice, qty.SMALL_LENGTH)) ** 2, "")
    return Worked(
        (
            Line(
                "Input against the right one",
                _share_of(found, right, qty.HEAT_RATE),
                qty.SHARE,
                "input as found ÷ input with the right orifices",
            ),
            Line("Input as found", found, qty.HEAT_RATE, "burners × gas through an orifice × heating value"),
        ),
        (
            Line("Areas", area, qty.RATIO, "(diameter ÷ right diameter)²"),
            Line(
                "Gas through one as found",
                gas.orifice_flow(orifice, manifold, specific_gravity),
                qty.GAS_FLOW,
                "1658.5 × 0.90 × area in in² × √(inches of water ÷ specific gravity)",
            ),
            Line("Input with the right ones", right, qty.HEAT_RATE, "the same with the right diameter"),
        ),
    )


def _altitude_derate(plate_input: Quantity, elevation: Quantity) -> Worked:
    thin = _share_of(air.standard_pressure(elevation), air.standard_pressure(q(0, "foot")), qty.ABSOLUTE_PRESSURE)
    return Worked(
        tuple(_derated(plate_input, elevation, rule) for rule in gas.DERATE_RULES.values()),
        (Line("Air pressure against sea level", thin, qty.SHARE, "standard atmosphere"),),
        "The rules differ. The plate, the instructions or the local rule says which one counts.",
    )


def _derated(plate_input: Quantity, elevation: Quantity, rule: gas.DerateRule) -> Line:
    words = f"By: {rule.words}"
    try:
        share = gas.derated_share(elevation, rule.name)
    except qty.OutOfRange as beyond:
        return Line(words, "says nothing at this elevation", None, f"{rule.source}; it is for {beyond.valid}")
    found = gas.derated_input(plate_input, elevation, rule.name)
    return Line(words, found, qty.HEAT_RATE, f"plate input × {share.magnitude:.2f}; {rule.source}")


def _air_free_co(co: Quantity, oxygen: Quantity) -> Worked:
    limit = LIMITS["co_flue_certification"]
    assert limit.high is not None
    found = combustion.air_free_monoxide(co, oxygen)
    return Worked(
        (Line("CO, air-free", found, qty.CO_FRACTION, "CO × 20.9 ÷ (20.9 − O₂)"),),
        (Line("Excess air", combustion.excess_air(oxygen), qty.SHARE, "balance of atoms, natural gas"),),
        f"For scale: {qty.show(limit.high, qty.CO_FRACTION)} air-free with its vent blocked is what a furnace may"
        f" give at certification ({limit.source}, {limit.status}).",
    )


def _flue_gas(flue_temperature: Quantity, oxygen: Quantity, air_temperature: Quantity, fuel: str) -> Worked:
    burnt = FUELS[fuel]
    loss = combustion.stack_loss(flue_temperature, oxygen, air_temperature, burnt)
    return Worked(
        (
            Line("Stack loss", loss, qty.GAS_FRACTION, "heat that leaves, of the gross input"),
            Line(
                "Combustion efficiency",
                combustion.combustion_efficiency(flue_temperature, oxygen, air_temperature, burnt),
                qty.GAS_FRACTION,
                "1 − stack loss",
            ),
            Line("Excess air", combustion.excess_air(oxygen, burnt), qty.SHARE, "balance of atoms"),
        ),
        (
            Line(
                "CO₂ that goes with it",
                combustion.carbon_dioxide_at(oxygen, burnt),
                qty.GAS_FRACTION,
                "ultimate CO₂ × (1 − O₂ ÷ 20.9)",
            ),
            Line(
                "Dew point of the flue gas",
                combustion.flue_dew_point(oxygen, burnt),
                qty.TEMPERATURE,
                "saturation at the water vapour's pressure",
            ),
        ),
    )


KINDS = (
    Working(
        "meter-clock",
        "Input by the meter",
        (
            Field("dial", "Dial", One(qty.VOLUME)),
            Field("one-turn", "One turn", One(qty.DURATION)),
            HEATING_VALUE,
            Field("plate-input", "Input on the plate, for this altitude", One(qty.HEAT_RATE), needed=False),
            Field("meter-pressure", "Pressure in the meter", One(qty.METER_PRESSURE), needed=False),
            Field("gas-temperature", "Gas in the meter", One(qty.TEMPERATURE), needed=False),
            Field("elevation", "Elevation", One(qty.LENGTH), needed=False),
        ),
        _meter_clock,
        "volume over time × gross heating value; correction by the ideal gas law",
    ),
    Working(
        "manifold-change",
        "Input and manifold pressure",
        (
            Field("input", "Input by the clock", One(qty.HEAT_RATE)),
            Field("manifold", "Manifold pressure then", One(qty.GAS_PRESSURE)),
            Field("new-manifold", "New manifold pressure", One(qty.GAS_PRESSURE), needed=False),
            Field("wanted-input", "Wanted input", One(qty.HEAT_RATE), needed=False),
            Field("plate-range", "Manifold range on the plate", Span(qty.GAS_PRESSURE), needed=False),
        ),
        _manifold_change,
        "orifice equation, NFPA 54 Annex E",
    ),
    Working(
        "orifice-change",
        "Burner orifices",
        (
            Field("orifice", "Orifice found", Orifice()),
            Field("right-orifice", "Orifice the plate asks for", Orifice()),
            Field("manifold", "Manifold pressure", One(qty.GAS_PRESSURE)),
            HEATING_VALUE,
            Field("specific-gravity", "Specific gravity", One(qty.RATIO), otherwise="0.60"),
            Field("burners", "Burners", One(qty.RATIO), otherwise="1"),
        ),
        _orifice_change,
        "orifice equation, NFPA 54 Annex E; drills by ASME B94.11M (from memory)",
    ),
    Working(
        "altitude-derate",
        "Input at altitude",
        (
            Field("plate-input", "Input on the plate, at sea level", One(qty.HEAT_RATE)),
            Field("elevation", "Elevation", One(qty.LENGTH)),
        ),
        _altitude_derate,
        "named with each rule",
    ),
    Working(
        "air-free-co",
        "Carbon monoxide without the excess air",
        (Field("co", "CO read", One(qty.CO_FRACTION)), Field("oxygen", "O₂ read", One(qty.GAS_FRACTION))),
        _air_free_co,
        "40 CFR 60 Appendix A, Method 19",
    ),
    Working(
        "flue-gas",
        "What leaves through the flue",
        (
            Field("flue-temperature", "Flue gas", One(qty.TEMPERATURE)),
            Field("oxygen", "O₂ read", One(qty.GAS_FRACTION)),
            Field("air-temperature", "Combustion air", One(qty.TEMPERATURE), otherwise="70 degF"),
            FUEL,
        ),
        _flue_gas,
        "balance of atoms and of enthalpy; heat capacities of Poling, Prausnitz and O'Connell, App. A",
    ),
)
