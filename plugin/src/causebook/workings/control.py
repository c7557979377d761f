"""Worked controls: a string of switches, a capacitor, the flame signal, the limit, an infrared thermometer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from causebook import quantity as qty
from causebook.knowledge import load
from causebook.physics import circuit, furnace, surface
from causebook.quantity import Quantity, q
from causebook.workings.airflow import BODY_FACTOR, OPENS, RISE, body_factor_line, from_difference
from causebook.workings.forms import Free, Many, One, Table
from causebook.workings.model import Field, Line, Worked, Working

CAPACITOR_CURRENT = replace(qty.CURRENT, us_digits=2, si_digits=2)
"""Current with the digits that the capacitance is worked out from."""


def _switch_string(
    supply: Quantity,
    switches: Sequence[str],
    to_common: Sequence[Quantity | None] | None,
    across: Mapping[str, Quantity] | None,
) -> Worked:
    for name in across or ():
        if name not in switches:
            raise ValueError(f"there is no switch {name!r}; the switches are {', '.join(switches)}")
    states = circuit.read_switches(switches, supply, to_common, [(across or {}).get(name) for name in switches])
    return Worked(
        tuple(Line(state.name, state.state.value, None, state.reason) for state in states),
        (
            Line(
                "Across an open switch, all others closed",
                circuit.voltage_across_open_switch(supply),
                qty.VOLTAGE,
                "divider of load and meter",
            ),
        ),
    )


def _capacitor(
    current: Quantity, volts: Quantity, marked: Quantity, tolerance: Quantity, frequency: Quantity
) -> Worked:
    found = circuit.capacitance(current, volts, frequency)
    band = circuit.capacitor_band(marked, tolerance)
    return Worked(
        (
            Line("Capacitance", found, qty.CAPACITANCE, "amperes ÷ (2π × frequency × volts)"),
            Line(
                "Against its label",
                circuit.judge_capacitor(found, marked, tolerance).value,
                None,
                "measured against the band",
            ),
        ),
        (
            Line("Band of the label", (band.low, band.high), qty.CAPACITANCE, "marked ± tolerance"),
            Line(
                "Share of the marked value",
                q(qty.si(found, qty.CAPACITANCE) / qty.si(marked, qty.CAPACITANCE), ""),
                qty.SHARE,
                "capacitance ÷ marked",
            ),
        ),
    )


def _flame_current(current: Quantity, minimum: Quantity, usual: Quantity) -> Worked:
    share = q(qty.si(current, qty.FLAME_CURRENT) / qty.si(minimum, qty.FLAME_CURRENT), "")
    return Worked(
        (
            Line(
                "Flame signal",
                circuit.judge_flame_current(current, minimum, usual).value,
                None,
                "against minimum and usual",
            ),
            Line("Times the minimum", share, qty.RATIO, "flame current ÷ minimum"),
        ),
        (),
        f"A steady flame should give {circuit.FLAME_MARGIN:g} times the minimum (common practice, no source).",
    )


def _limit_body(return_air: Quantity, rise: Quantity, body_factor: Quantity | None, opens: Quantity) -> Worked:
    factor = body_factor_line(body_factor)
    body = furnace.limit_body(return_air, rise, factor.value)
    margin = from_difference(opens, body)
    return Worked(
        (
            Line("Limit body", body, qty.PROBE_TEMPERATURE, "return air + factor × rise"),
            Line("Margin to its marking", margin, qty.TEMPERATURE_DIFFERENCE, "opens at − limit body"),
        ),
        (
            factor,
            Line(
                "Mean supply air",
                furnace.outlet_temperature(return_air, rise),
                qty.PROBE_TEMPERATURE,
                "return air + rise",
            ),
        ),
        "A limit with this margin has no reason to open."
        if margin.magnitude > 0
        else "A limit that opens here does its duty.",
    )


def _infrared(
    true_temperature: Quantity, emissivity: Quantity | None, set_to: Quantity | None, surroundings: Quantity
) -> Worked:
    own, taken = (
        _emissivity("Emissivity of the surface", emissivity, "emissivity-bare-metal"),
        _emissivity("Emissivity the instrument is set to", set_to, "emissivity-tape"),
    )
    shown = surface.infrared_shows(true_temperature, surroundings, own.value, taken.value)
    return Worked(
        (
            Line("The instrument shows", shown, qty.TEMPERATURE, "what it receives, taken as its own emissivity"),
            Line(
                "Short of the truth by",
                from_difference(true_temperature, shown),
                qty.TEMPERATURE_DIFFERENCE,
                "surface − shown",
            ),
        ),
        (own, taken),
    )


def _emissivity(words: str, given: Quantity | None, constant: str) -> Line:
    usual = load().constants[constant]
    return Line(
        words,
        given if given is not None else q(usual.value, ""),
        qty.RATIO,
        "given" if given is not None else f"{usual.name.lower()}, {usual.basis.kind}",
    )


KINDS = (
    Working(
        "switch-string",
        "What voltages prove about a string of switches",
        (
            Field("supply", "Supply", One(qty.VOLTAGE)),
            Field("switches", "Switch", Many(Free())),
            Field("to-common", "To common, point", Many(One(qty.VOLTAGE), blank="-"), needed=False),
            Field("across", "Across", Table(One(qty.VOLTAGE)), needed=False),
        ),
        _switch_string,
        "voltage divider; meter of 10 MΩ, load of 60 Ω",
        "All read with the call for heat present. A floating wire fools a meter of high impedance.",
    ),
    Working(
        "capacitor",
        "A capacitor by amperes and volts",
        (
            Field("current", "Current through it", One(CAPACITOR_CURRENT)),
            Field("volts", "Voltage across it", One(qty.VOLTAGE)),
            Field("marked", "Marked", One(qty.CAPACITANCE)),
            Field("tolerance", "Tolerance on its label", One(qty.SHARE), otherwise="6 %"),
            Field("frequency", "Line frequency", One(qty.FREQUENCY), otherwise="60 Hz"),
        ),
        _capacitor,
        "I = 2π f C V",
    ),
    Working(
        "flame-current",
        "The flame signal",
        (
            Field("current", "Flame current, steady", One(qty.FLAME_CURRENT)),
            Field("minimum", "The control's minimum", One(qty.FLAME_CURRENT)),
            Field("usual", "Usual for it", One(qty.FLAME_CURRENT)),
        ),
        _flame_current,
        "the control's own sheet",
    ),
    Working(
        "limit-body",
        "How hot the limit's body is",
        (Field("return-air", "Return air at the furnace", One(qty.PROBE_TEMPERATURE)), RISE, BODY_FACTOR, OPENS),
        _limit_body,
        "expert estimate: the factor comes from watched trips",
    ),
    Working(
        "infrared",
        "Infrared on a surface",
        (
            Field("true-temperature", "The surface in truth", One(qty.TEMPERATURE)),
            Field("emissivity", "Its emissivity", One(qty.RATIO), needed=False),
            Field("set-to", "Emissivity set on the instrument", One(qty.RATIO), needed=False),
            Field("surroundings", "What it mirrors", One(qty.TEMPERATURE), otherwise="70 degF"),
        ),
        _infrared,
        "Stefan and Boltzmann; emissivity of bare galvanised metal 0.2 to 0.3 (from memory)",
    ),
)
