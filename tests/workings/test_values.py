"""Every worked example against a value in print or against an independent library."""

from __future__ import annotations

import math
from itertools import product
from pathlib import Path
from typing import NamedTuple

import CoolProp.HumidAirProp as humid
import fluids
import numpy as np
import psychrolib
import pyagrum as gum
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from causebook import quantity as qty
from causebook.knowledge import load
from causebook.quantity import Quantity
from causebook.workings.kinds import WORKINGS
from causebook.workings.model import Example, Line
from causebook.workings.read import work_out

psychrolib.SetUnitSystem(psychrolib.SI)


def example(name: str, text: str) -> Example:
    made, problems = work_out(name, text, Path("page.md"), 1)
    assert made is not None, "\n".join(map(str, problems))
    return made


def line(made: Example, words: str) -> Line:
    return next(found for found in (*made.worked.results, *made.worked.steps) if found.words == words)


def value(made: Example, words: str, unit: str) -> float:
    found = line(made, words).value
    assert isinstance(found, Quantity)
    return float(found.to(unit).magnitude)


class Row(NamedTuple):
    """A block, one of its lines, and what the source prints for it."""

    name: str
    text: str
    words: str
    expected: float
    unit: str
    tolerance: float
    source: str


BALANCE = "heat balance with psychrolib 2.5.0 air"
ROWS = (
    Row(
        "airflow-from-rise",
        "input: 100000 Btu/h\nefficiency: 80 %\nrise: 60 degF",
        "Airflow",
        1235,
        "cfm",
        0.003,
        BALANCE,
    ),
    Row(
        "rise-from-airflow",
        "input: 100000 Btu/h\nefficiency: 80 %\nairflow: 1200 cfm\nelevation: 5000 ft",
        "Rise",
        74.2,
        "delta_degF",
        0.003,
        BALANCE,
    ),
    Row(
        "least-airflow",
        "input: 60000 Btu/h\nefficiency: 95 %\nplate-rise: 30 to 60 degF",
        "Least airflow",
        880,
        "cfm",
        0.003,
        BALANCE,
    ),
    Row(
        "least-airflow",
        "input: 60000 Btu/h\nefficiency: 95 %\nplate-rise: 30 to 60 degF",
        "Airflow at the middle",
        57000 / 1.08 / 45,
        "cfm",
        0.003,
        "the trade's 1.08 at sea level and 70 °F",
    ),
    Row(
        "two-airflows",
        "airflows:\n  a: 900 cfm within 30 cfm\n  b: 1000 cfm within 40 cfm",
        "Error of the difference",
        50,
        "cfm",
        1e-9,
        "JCGM 100:2008, 5.1.2: 3, 4, 5",
    ),
    Row(
        "recirculation",
        "room: 69 degF\nreturn-air: 83 degF\nsupply: 140 degF",
        "Share of supply air in the return",
        0.197,
        "",
        0.003,
        "two streams by hand: 14 of 71",
    ),
    Row(
        "cooling-airflow",
        "capacity: 3 ton\nairflow: 1200 cfm",
        "Airflow for each ton",
        400,
        "cfm/refrigeration_ton",
        1e-9,
        "definition",
    ),
    Row(
        "taps",
        "taps: {2: -0.12 inH2O, 3: -0.30 inH2O, 5: 0.35 inH2O, 6: 0.15 inH2O}\nexternal: filter and coil",
        "External static",
        0.65,
        "inwc",
        1e-9,
        "plates rated without filter and coil: outlet less inlet",
    ),
    Row(
        "taps",
        "taps: {2: -0.12 inH2O, 3: -0.30 inH2O, 5: 0.35 inH2O, 6: 0.15 inH2O}\nexternal: coil",
        "External static",
        0.47,
        "inwc",
        1e-9,
        "plates rated with their filter",
    ),
    Row(
        "drop-at-airflow",
        "drop: 0.80 inH2O\nairflow: 1200 cfm\nat: 1000 cfm",
        "Drop there",
        0.556,
        "inwc",
        0.001,
        "square law by hand",
    ),
    Row(
        "filter-face",
        "airflow: 1200 cfm\nsize: 400 in^2",
        "Face velocity",
        432,
        "fpm",
        1e-9,
        "airflow over area by hand",
    ),
    Row(
        "return-size",
        "airflow: 1185 cfm\noutput: 64000 Btu/h\nopening: 128 in^2",
        "Legal floor of the duct",
        128,
        "inch**2",
        1e-6,
        "2 in² for 1000 Btu/h, mechanical codes",
    ),
    Row(
        "return-size",
        "airflow: 1185 cfm\noutput: 64000 Btu/h\nopening: 128 in^2",
        "Velocity at the legal floor",
        1333,
        "fpm",
        0.001,
        "1185 cfm through 128 in² by hand",
    ),
    Row(
        "friction-rate",
        "static: 0.50 inH2O\nparts: {coil: 0.20 inH2O, filter: 0.10 inH2O, grille: 0.06 inH2O}\nlength: 300 ft\n"
        "airflow: 1000 cfm",
        "Friction rate",
        0.0467,
        "inwc_per_100ft",
        0.001,
        "available static over length by hand",
    ),
    Row("duct-run", "airflow: 700 cfm\nsize: 20 x 8 in\nlength: 100 ft", "Drop", 0.0550, "inwc", 0.01, "fluids 1.3.1"),
    Row(
        "flex-compression",
        "airflow: 150 cfm\ndiameter: 8 in\nlength: 25 ft\ncompression: 15 %",
        "Factor of the slack",
        4.18,
        "",
        0.005,
        "ASHRAE Handbook form, from memory",
    ),
    Row(
        "closed-door",
        "airflow: 100 cfm\nopening: 55 in^2",
        "Free area needed",
        54.4,
        "inch**2",
        0.01,
        "orifice with C = 0.6 by hand: 0.0472 ÷ (0.6 √(6 ÷ 1.2))",
    ),
    Row(
        "closed-door",
        "airflow: 100 cfm\nopening: 27.2 in^2",
        "Room pressure with what there is",
        12.0,
        "Pa",
        0.02,
        "half the area, four times the pressure",
    ),
    Row(
        "meter-clock",
        "dial: 5 ft^3\none-turn: 218 s\nheating-value: 1026 Btu/ft^3",
        "Input",
        84716,
        "btu_it/hour",
        1e-4,
        "printed clocking charts: 3600 × 5 × 1026 ÷ 218",
    ),
    Row(
        "meter-clock",
        "dial: 1 ft^3\none-turn: 36 s\nheating-value: 1000 Btu/ft^3\nmeter-pressure: 0.25 psi\n"
        "gas-temperature: 40 degF\nelevation: 0 ft",
        "Meter correction",
        1.0553,
        "",
        2e-4,
        "ideal gas law with psychrolib",
    ),
    Row(
        "manifold-change",
        "input: 100000 Btu/h\nmanifold: 3.5 inH2O\nnew-manifold: 2.8 inH2O",
        "Change",
        0.894,
        "",
        0.001,
        "√(2.8 ÷ 3.5)",
    ),
    Row(
        "manifold-change",
        "input: 100000 Btu/h\nmanifold: 4 inH2O\nwanted-input: 90000 Btu/h",
        "Manifold pressure for the wanted input",
        3.24,
        "inwc",
        1e-6,
        "0.9² × 4",
    ),
    Row(
        "orifice-change",
        "orifice: No. 43\nright-orifice: No. 45\nmanifold: 3.5 inH2O\nheating-value: 1000 Btu/ft^3",
        "Gas through one as found",
        22.43,
        "foot**3/hour",
        0.01,
        "NFPA 54 Annex E equation",
    ),
    Row(
        "orifice-change",
        "orifice: 0.089 in\nright-orifice: 0.082 in\nmanifold: 3.5 inH2O\nheating-value: 1000 Btu/ft^3",
        "Input against the right one",
        1.178,
        "",
        0.001,
        "(0.089 ÷ 0.082)²",
    ),
    Row(
        "altitude-derate",
        "plate-input: 100000 Btu/h\nelevation: 5000 ft",
        "By: 4 % for each 1000 ft above sea level, once above 2000 ft",
        80000,
        "btu_it/hour",
        1e-6,
        "NFPA 54 Annex E",
    ),
    Row("air-free-co", "co: 50 ppm\noxygen: 6 %", "CO, air-free", 70.1, "ppm_", 0.001, "40 CFR 60 Method 19"),
    Row(
        "flue-gas",
        "flue-temperature: 400 degF\noxygen: 7 %\nfuel: methane",
        "Stack loss",
        0.194,
        "",
        0.02,
        "chemicals and CoolProp enthalpies",
    ),
    Row(
        "flue-gas",
        "flue-temperature: 400 degF\noxygen: 5 %\nfuel: methane",
        "Excess air",
        0.281,
        "",
        0.003,
        "chemicals 1.2 stoichiometry",
    ),
    Row(
        "heat-loss-by-surfaces",
        "surfaces: {wall: 1000 ft^2 at R-10}\nvolume: 6000 ft^3\nair-changes: 1 1/h\noutdoor: 0 degF",
        "Loss for each degree",
        208,
        "btu_it/hour/delta_degF",
        0.004,
        "1000 ÷ 10 and 100 cfm × 1.08",
    ),
    Row(
        "heat-loss-by-run-time",
        "input: 100000 Btu/h\nefficiency: 80 %\nrun-share: 50 %\noutdoor: 10 degF\ndesign-outdoor: 0 degF",
        "Heat loss on the design day",
        40000 / 60 * 70,
        "btu_it/hour",
        1e-6,
        "balance by hand",
    ),
    Row(
        "heat-loss-by-fuel",
        "fuel: 700 therm\nbase-load: 100 therm\nefficiency: 80 %\ndegree-days: 5000 degF*day\ndesign-outdoor: 5 degF",
        "Loss for each degree",
        60e6 * 0.8 / 5000 / 24,
        "btu_it/hour/delta_degF",
        1e-6,
        "degree-days by hand",
    ),
    Row("oversizing", "output: 80000 Btu/h\ndesign-loss: 40000 Btu/h", "Output over loss", 2, "", 1e-9, "definition"),
    Row(
        "combustion-air",
        "volume: 5000 ft^3\nnatural-draft: 100000 Btu/h",
        "Volume by the standard method",
        5000,
        "foot**3",
        1e-6,
        "NFPA 54 9.3.2.1",
    ),
    Row(
        "combustion-air",
        "volume: 5000 ft^3\nnatural-draft: 40000 Btu/h\nfan-assisted: 80000 Btu/h\nair-changes: 0.30 1/h",
        "Volume by the known air change",
        6800,
        "foot**3",
        1e-6,
        "NFPA 54 9.3.2.2",
    ),
    Row(
        "capacitor",
        "current: 5.0 A\nvolts: 370 V\nmarked: 35 uF",
        "Capacitance",
        2652.6 * 5 / 370,
        "uF",
        1e-4,
        "2652 × amperes ÷ volts at 60 Hz, printed in motor handbooks (from memory)",
    ),
    Row(
        "flame-current", "current: 3 uA\nminimum: 0.8 uA\nusual: 2.5 uA", "Times the minimum", 3.75, "", 1e-9, "by hand"
    ),
    Row(
        "limit-body",
        "return-air: 70 degF\nrise: 60 degF\nbody-factor: 1.6\nopens: 190 degF",
        "Margin to its marking",
        24,
        "delta_degF",
        1e-6,
        "190 − (70 + 96)",
    ),
)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.name}, {row.words}")
def test_is_what_the_source_prints(row: Row) -> None:
    assert value(example(row.name, row.text), row.words, row.unit) == pytest.approx(row.expected, rel=row.tolerance)


BY_LIBRARY = {
    "mixed-return",
    "run-log",
    "watched-call",
    "operating-point",
    "infrared",
    "weight-of-evidence",
    "either-cause",
    "sets-of-causes",
    "switch-string",
    "furnace-start",
}


def test_every_kind_is_compared() -> None:
    assert {row.name for row in ROWS} | BY_LIBRARY == set(WORKINGS)


@pytest.mark.parametrize("elevation", [0, 2500, 7000])
def test_airflow_is_that_of_psychrolib_air(elevation: float) -> None:
    text = f"input: 90000 Btu/h\nefficiency: 80 %\nrise: 55 degF\nelevation: {elevation} ft\nreturn-air: 66 degF"
    celsius, pressure = (66 - 32) / 1.8, psychrolib.GetStandardAtmPressure(elevation * 0.3048)
    moisture = psychrolib.GetHumRatioFromRelHum(celsius, 0.30, pressure)
    heat = (1006 + 1860 * moisture) / psychrolib.GetMoistAirVolume(celsius, moisture, pressure)
    expected = 90000 * 0.8 * 0.29307107 / (heat * 55 / 1.8)
    assert value(example("airflow-from-rise", text), "Airflow", "m**3/s") == pytest.approx(expected, rel=1e-4)


def test_errors_of_the_airflow_add_in_quadrature() -> None:
    """JCGM 100:2008, 5.1.6: relative errors of a product add as squares."""
    made = example(
        "airflow-from-rise",
        "input: 90000 Btu/h\nefficiency: 80 %\nrise: 60 degF\ninput-error: 3 %\n"
        "efficiency-error: 2 %\nrise-error: 3 degF",
    )
    sd = line(made, "Airflow").sd
    assert sd is not None
    assert sd.to("cfm").magnitude / value(made, "Airflow", "cfm") == pytest.approx(
        math.hypot(0.03, 0.02, 0.05), rel=0.01
    )


def test_mixed_return_keeps_coolprops_enthalpy() -> None:
    made = example("mixed-return", "streams:\n  a: 600 cfm at 70 degF\n  b: 300 cfm at 40 degF")
    parts = []
    for flow, fahrenheit in ((600, 70), (300, 40)):
        kelvin = (fahrenheit + 459.67) / 1.8
        state = ("T", kelvin, "P", 101325.0, "R", 0.30)
        parts.append((flow / humid.HAPropsSI("V", *state), humid.HAPropsSI("H", *state), humid.HAPropsSI("W", *state)))
    mass = sum(m for m, _, _ in parts)
    enthalpy, moisture = (sum(part[0] * part[i] for part in parts) / mass for i in (1, 2))
    expected = humid.HAPropsSI("T", "H", enthalpy, "P", 101325.0, "W", moisture) * 1.8 - 459.67
    assert value(
        example("mixed-return", "streams:\n  a: 600 cfm at 70 degF\n  b: 300 cfm at 40 degF"),
        "Mixed return air",
        "degF",
    ) == pytest.approx(expected, abs=0.1)
    assert value(made, "Airflow in all", "cfm") == pytest.approx(900, rel=0.002)


def test_run_log_finds_the_curve_it_was_made_from() -> None:
    """Samples of an exact exponential (numpy) to 84 °F with a time constant of 150 s."""
    times = np.arange(30, 361, 30)
    rises = 84 * (1 - np.exp(-(times - 12) / 150))
    samples = "\n".join(f"  {t} s: {70 + r:.4f} degF" for t, r in zip(times, rises, strict=True))
    made = example("run-log", f"return-air: 70 degF\nsupply:\n{samples}")
    assert value(made, "Where the rise was going", "delta_degF") == pytest.approx(84, abs=0.05)
    assert value(made, "Time constant τ", "s") == pytest.approx(150, rel=0.002)


def test_watched_call_is_the_integral_of_its_equations() -> None:
    """scipy.integrate on the lumped exchanger and the limit's body, until the body is as hot as its marking."""
    made = example(
        "watched-call",
        "input: 79000 Btu/h\nefficiency: 80 %\nairflow: 735 cfm\nreturn-air: 67 degF\nopens: 190 degF\n"
        "closes: 160 degF\ntime-constant: 3 min\nbody-factor: 1.7",
    )
    steady = value(made, "Rise it is going to", "delta_degF")

    def change(t: float, y: np.ndarray) -> list[float]:
        share = 1.0 if t >= 30 else 0.05
        return [(steady - share * y[0]) / 180, (1.7 * y[0] - y[1]) / 55]

    def opens(t: float, y: np.ndarray) -> float:
        return float(y[1] - (190 - 67))

    opens.terminal = True
    run = solve_ivp(change, (0, 1200), [0, 0], events=opens, max_step=1.0, rtol=1e-8)
    assert value(made, "Limit opens after", "s") == pytest.approx(run.t_events[0][0], abs=1.0)


def test_operating_point_is_where_scipy_finds_the_curves_meet() -> None:
    made = example(
        "operating-point",
        "fan-table: {0.2 inH2O: 1300 cfm, 0.8 inH2O: 900 cfm}\n"
        "parts: {filter: 0.20 inH2O at 1000 cfm, rest: 0.30 inH2O at 1000 cfm}\n"
        "exponents: {filter: 1.5}",
    )
    thin = psychrolib.GetMoistAirDensity(21.111, psychrolib.GetHumRatioFromRelHum(21.111, 0.3, 101325), 101325) / 1.2014

    def left(cfm: float) -> float:
        drop = 0.20 * (cfm / 1000) ** 1.5 + 0.30 * (cfm / 1000) ** 2
        return 1300 - (drop - 0.2) * 400 / 0.6 - cfm

    assert thin == pytest.approx(1, rel=0.005)
    assert value(made, "Airflow", "cfm") == pytest.approx(brentq(left, 500, 1500), rel=1e-3)


def test_a_second_return_shares_the_air_as_parallel_resistances() -> None:
    """1/√R = 1/√R₁ + 1/√R₂: the same duct twice is a quarter of the drop."""
    base = "fan-table: {0.2 inH2O: 1300 cfm, 0.8 inH2O: 900 cfm}\n"
    base += "parts: {return: 0.40 inH2O at 1000 cfm, rest: 0.2 inH2O at 1000 cfm}\n"
    two = example("operating-point", base + "beside: {return: 0.40 inH2O at 1000 cfm}")
    quarter = example("operating-point", base.replace("0.40", "0.10"))
    assert value(two, "Airflow", "cfm") == pytest.approx(value(quarter, "Airflow", "cfm"), rel=1e-6)


def test_round_size_has_the_friction_that_fluids_finds() -> None:
    made = example("friction-rate", "static: 0.5 inH2O\nparts: {coil: 0.2 inH2O}\nlength: 300 ft\nairflow: 1000 cfm")
    diameter = value(made, "Round duct", "m")
    speed = 1000 * 0.3048**3 / 60 / (math.pi / 4 * diameter**2)
    factor = fluids.friction_factor(1.2014 * speed * diameter / 1.826e-5, 0.0003 * 0.3048 / diameter)
    assert value(made, "Friction rate", "Pa/m") == pytest.approx(factor / diameter * 1.2014 * speed**2 / 2, rel=0.005)


def test_infrared_balances_what_the_instrument_receives() -> None:
    made = example("infrared", "true-temperature: 145 degF\nemissivity: 0.25\nset-to: 0.95\nsurroundings: 70 degF")
    true, room = ((f + 459.67) / 1.8 for f in (145, 70))
    received = 0.25 * true**4 + 0.75 * room**4
    shown = brentq(lambda t: 0.95 * t**4 + 0.05 * room**4 - received, 250, 400) * 1.8 - 459.67
    assert value(made, "The instrument shows", "degF") == pytest.approx(shown, abs=0.01)


@pytest.mark.parametrize(
    ("to_common", "across", "states"),
    [
        ("[24 V, 24 V, 0 V, 0 V]", "{limit: 24 V}", ["closed", "open", "closed"]),
        ("[24 V, 24 V, 24 V, 24 V]", "{limit: 0 V}", ["closed", "closed", "closed"]),
        ("[-, -, -, -]", "{limit: 0 V}", ["cannot tell", "cannot tell", "cannot tell"]),
        ("[24 V, 24 V, 22 V, 22 V]", "{limit: 2 V}", ["closed", "poor contact", "closed"]),
    ],
)
def test_switches_are_what_kirchhoff_leaves(to_common: str, across: str, states: list[str]) -> None:
    """Kirchhoff's voltage law: the drops add up to the supply, and an open switch takes all of it."""
    made = example(
        "switch-string",
        f"supply: 24 V\nswitches: [roll-out, limit, pressure]\nto-common: {to_common}\nacross: {across}",
    )
    assert [found.value for found in made.worked.results] == states


@pytest.mark.parametrize(
    ("suction", "device", "last"),
    [
        ("-1.1 inH2O", "", "Runs to the end of the call"),
        ("-0.81 inH2O", "", "Runs to the end of the call"),
        ("-0.79 inH2O", "", "Suction makes the pressure switch"),
        ("-1.1 inH2O", "limit", "Safeties made"),
        ("-1.1 inH2O", "fuse", "Power"),
        ("-1.1 inH2O", "thermostat", "Call for heat"),
    ],
)
def test_a_start_gets_as_far_as_its_parts_let_it(suction: str, device: str, last: str) -> None:
    """By hand: the switch closes at 0.80, and nothing follows an open device."""
    plate = f"closes: -0.80 inH2O\nopens: -0.70 inH2O\nsuction: {suction}\nmanifold: 3.5 inH2O"
    made = example("furnace-start", plate + (f"\nopen-device: {device}" if device else ""))
    assert made.worked.results[0].value == last


def test_a_healthy_start_has_24_volts_where_they_are_due() -> None:
    """Kirchhoff's voltage law: the whole feed stands across the one open switch, next to none across the closed."""
    plate = "closes: -0.80 inH2O\nopens: -0.70 inH2O\nsuction: -1.1 inH2O\nmanifold: 3.5 inH2O"
    made = example("furnace-start", plate)
    rest, made_ = "Pressure switch open at rest", "Suction makes the pressure switch"
    assert value(made, f"{rest}: volts across pressure switch", "V") == pytest.approx(26.3, abs=0.3)
    assert value(made, f"{made_}: volts across pressure switch", "V") == pytest.approx(0, abs=0.1)


# ---------------------------------------------------------------- evidence


def _said(finding: str, causes: tuple[str, ...], present: bool) -> float:
    """Chance of what an observer says, by noisy-OR written out, with the knowledge's share of wrong observations."""
    known, wrong = load(), load().constants["wrong-observation-share"].value
    silent = 1 - known.findings[finding].leak
    for cause in causes:
        silent *= 1 - known.causes[cause].links.get(finding, 0.0)
    there = (1 - silent) * (1 - wrong) + silent * wrong
    return there if present else 1 - there


def test_weight_of_evidence_is_bayes_theorem() -> None:
    made = example(
        "weight-of-evidence",
        "suspect: coil-plugged\nprior: 20 %\npresent: [coil-matted, ice-on-coil]\nabsent: ran-without-filter",
    )
    seen = (("coil-matted", True), ("ice-on-coil", True), ("ran-without-filter", False))
    with_it, without = 0.2, 0.8
    for finding, present in seen:
        with_it *= _said(finding, ("coil-plugged",), present)
        without *= _said(finding, (), present)
    assert value(made, "Chance after", "") == pytest.approx(with_it / (with_it + without), rel=1e-9)


def test_two_views_of_one_fact_count_once() -> None:
    one, both = (
        example("weight-of-evidence", f"suspect: coil-plugged\nprior: 20 %\npresent: {seen}")
        for seen in ("coil-matted", "[coil-matted, coil-drop-high]")
    )
    assert value(both, "Chance after", "") == pytest.approx(value(one, "Chance after", ""))
    assert "same fact" in both.worked.says


def test_either_cause_is_agrums_noisy_or() -> None:
    """pyAgrum's own noisy-OR node, asked for each set of causes."""
    causes, finding = ("filter-loaded", "return-undersized"), "filter-out-rise-falls"
    known = load()
    net = gum.BayesNet()
    shown = net.addNoisyORNet(gum.LabelizedVariable("finding", "", 2), known.findings[finding].leak)
    for i, cause in enumerate(causes):
        node = net.add(gum.LabelizedVariable(f"c{i}", "", 2))
        net.cpt(node).fillWith([0.5, 0.5])
        net.addWeightedArc(node, shown, known.causes[cause].links[finding])
    made = example("either-cause", f"finding: {finding}\ncauses: [{', '.join(causes)}]")
    given = {
        (1, 1): "All of them together",
        (1, 0): f"{known.causes[causes[0]].name}, alone",
        (0, 1): f"{known.causes[causes[1]].name}, alone",
        (0, 0): "None of them (something else)",
    }
    for states, words in given.items():
        inference = gum.LazyPropagation(net)
        inference.setEvidence({f"c{i}": s for i, s in enumerate(states)})
        assert value(made, words, "") == pytest.approx(inference.posterior("finding")[1], abs=1e-6), words


def test_sets_of_causes_are_counted_out() -> None:
    """All four sets written out: prior switches, the factor of the known pair, and the likelihoods."""
    causes, known = ("filter-loaded", "return-undersized"), load()
    made = example(
        "sets-of-causes",
        f"family: high-limit\ncauses: [{', '.join(causes)}]\npresent: [filter-dirty, return-drop-high]",
    )
    pair = next(p.factor for p in known.pairs if {p.first, p.second} == set(causes))
    belief = {}
    for states in product((0, 1), repeat=2):
        there = tuple(c for c, s in zip(causes, states, strict=True) if s)
        weight = pair if len(there) == 2 else 1.0
        for cause, state in zip(causes, states, strict=True):
            chance = known.causes[cause].priors["high-limit"]
            weight *= chance if state else 1 - chance
        belief[states] = weight * _said("filter-dirty", there, True) * _said("return-drop-high", there, True)
    total = sum(belief.values())
    expected = (belief[(1, 0)] + belief[(1, 1)]) / total
    assert value(made, known.causes["filter-loaded"].name, "") == pytest.approx(expected, rel=1e-6)
    alone = value(made, f"only {known.causes['filter-loaded'].name}", "")
    assert alone == pytest.approx(belief[(1, 0)] / total, rel=1e-6)


def test_kinds_show_their_units_both_ways() -> None:
    made = example("filter-face", "airflow: 1000 cfm\nsize: 20 x 20 in")
    assert all(found.kind in qty.KINDS.values() for found in (*made.given, *made.worked.results))


def test_a_capacitor_is_shown_with_the_digits_it_is_worked_out_from() -> None:
    """0.41 A ÷ (377 × 372 V) = 2.92 µF; with 0.4 A it would be 2.85."""
    made = example("capacitor", "current: 0.41 A\nvolts: 372 V\nmarked: 7.5 uF")
    assert "0.41 A" in [qty.show(found.value, found.kind) for found in made.given if found.kind is not None]
