"""Short chains of the project's own functions, where a published value needs more than one call."""

from causebook.physics import air
from causebook.quantity import (
    ABSOLUTE_PRESSURE,
    AIRFLOW,
    ENTHALPY,
    KINDS,
    LENGTH,
    SHARE,
    TEMPERATURE,
    Param,
    Quantity,
    from_si,
    parse,
    physical,
    q,
)

# Inch-pound tables count dry air from 0 °F: 0.2403 Btu/(lb·°F) over the 32 °F to the freezing point.
INCH_POUND_DATUM = q(7.689, "btu_it/lb")


def convert(amount: str, kind: str, to: str) -> float:
    """The number that `amount`, as an author writes it, is in the unit `to`."""
    return float(parse(amount, KINDS[kind]).to(to).magnitude)


def inch_basis_error(published_pascals: float) -> Quantity:
    """How far the project's inch of water stands above another one."""
    return q(convert("1 inH2O", "air pressure", "Pa") / published_pascals - 1, "")


@physical(ENTHALPY, temperature=Param(TEMPERATURE), relative_humidity=Param(SHARE), elevation=Param(LENGTH))
def inch_pound_enthalpy(temperature: float, relative_humidity: float, elevation: float) -> float:
    """Enthalpy as inch-pound tables count it."""
    moisture = air.humidity_ratio.si(temperature, relative_humidity, air.standard_pressure.si(elevation))
    return air.enthalpy.si(temperature, moisture) + INCH_POUND_DATUM.to("J/kg").magnitude


@physical(None, temperature=Param(TEMPERATURE), wet_bulb=Param(TEMPERATURE), pressure=Param(ABSOLUTE_PRESSURE))
def state_from_wet_bulb(temperature: float, wet_bulb: float, pressure: float) -> air.AirState:
    """The state that a sling psychrometer tells."""
    moisture = air.humidity_ratio_from_wet_bulb.si(temperature, wet_bulb, pressure)
    return air.AirState(from_si(temperature, TEMPERATURE), from_si(pressure, ABSOLUTE_PRESSURE), q(moisture, ""))


@physical(TEMPERATURE, temperature=Param(TEMPERATURE), airflow=Param(AIRFLOW), other_temperature=Param(TEMPERATURE),
          other_airflow=Param(AIRFLOW))
def mixed_temperature(temperature: float, airflow: float, other_temperature: float, other_airflow: float) -> float:
    """Temperature of two dry streams joined at sea level."""
    parts = ((temperature, airflow), (other_temperature, other_airflow))
    streams = [air.Stream(air.air_state(q(t, "K"), q(0, "m"), q(0, "")), q(flow, "m**3/s")) for t, flow in parts]
    return float(air.mix(*streams).state.temperature.magnitude)
