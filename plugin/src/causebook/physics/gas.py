"""Fuel gas up to the burner: what it holds, how much of it flows, and what altitude takes away.

A cubic foot of gas is at 60 °F and 14.696 psia unless a function says otherwise.  Heating values are gross
(water condensed) unless the name says net.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from causebook.physics.air import standard_pressure
from causebook.quantity import (
    DURATION,
    GAS_FLOW,
    GAS_PRESSURE,
    HEAT_RATE,
    HEATING_VALUE,
    LENGTH,
    METER_PRESSURE,
    RATIO,
    SMALL_LENGTH,
    TEMPERATURE,
    VOLUME,
    OutOfRange,
    Param,
    Quantity,
    from_si,
    physical,
    q,
    show,
)

PSI = 6894.757293168  # Pa
GAS_BASE_TEMPERATURE = 288.7056  # K, 60 °F
BILLING_PRESSURE = 14.73 * PSI  # Pa, the pressure to which US gas volumes and heating values are billed
MOLAR_MASS_OF_AIR = 28.9625  # g/mol

_ELEVATION = Param(LENGTH, -500, 4500)
_HEATING_VALUE = Param(HEATING_VALUE, 1e6, 200e6)
_MANIFOLD = Param(GAS_PRESSURE, 0, 10e3, open_low=True)
_GRAVITY = Param(RATIO, 0.05, 5)
_HEAT_RATE = Param(HEAT_RATE, 0, 3e6)

# ---------------------------------------------------------------- what the gas is made of


@dataclass(frozen=True, slots=True)
class Component:
    """A gas found in fuels: atoms of carbon and hydrogen, molar mass (g/mol), heating values (Btu/ft³)."""

    name: str
    carbon: int
    hydrogen: int
    molar_mass: float
    gross: float
    net: float


# Ideal-gas heating values at 60 °F and 14.696 psia, as in GPA 2145 and ASTM D3588 (from memory; the tests compare
# each with the heats of combustion in the chemicals library).
COMPONENTS: Mapping[str, Component] = MappingProxyType(
    {
        c.name: c
        for c in (
            Component("methane", 1, 4, 16.0425, 1010.0, 909.4),
            Component("ethane", 2, 6, 30.0690, 1769.7, 1618.7),
            Component("propane", 3, 8, 44.0956, 2516.1, 2314.9),
            Component("isobutane", 4, 10, 58.1222, 3251.9, 3000.4),
            Component("butane", 4, 10, 58.1222, 3262.3, 3010.8),
            Component("pentane", 5, 12, 72.1488, 4008.7, 3706.9),
            Component("hexane", 6, 14, 86.1754, 4755.9, 4403.8),
            Component("hydrogen", 0, 2, 2.0159, 324.2, 273.9),
            Component("nitrogen", 0, 0, 28.0134, 0.0, 0.0),
            Component("carbon dioxide", 1, 0, 44.0095, 0.0, 0.0),
        )
    }
)


@dataclass(frozen=True)
class Fuel:
    """A fuel gas: its name and the share of each component by volume; the shares must add up to one."""

    name: str
    shares: Mapping[str, float]

    def __post_init__(self) -> None:
        unknown = sorted(set(self.shares) - set(COMPONENTS))
        if unknown:
            raise ValueError(f"{self.name}: unknown component {unknown[0]!r}; known are {', '.join(COMPONENTS)}")
        if min(self.shares.values(), default=0) < 0 or not math.isclose(sum(self.shares.values()), 1, abs_tol=1e-3):
            raise ValueError(f"{self.name}: the shares are {dict(self.shares)}; valid are shares that add up to 1")

    def mean(self, value: str) -> float:
        """The mean of one field of the components, weighted by volume."""
        total = sum(self.shares.values())
        return sum(float(getattr(COMPONENTS[name], value)) * share for name, share in self.shares.items()) / total

    @property
    def gross_heating_value(self) -> Quantity:
        """Heat of a standard volume with the water formed condensed (GPA 2172, ideal gas)."""
        return q(self.mean("gross"), "btu_it/foot**3")

    @property
    def net_heating_value(self) -> Quantity:
        """Heat of a standard volume with the water formed left as vapour (GPA 2172, ideal gas)."""
        return q(self.mean("net"), "btu_it/foot**3")

    @property
    def specific_gravity(self) -> Quantity:
        """Density over that of dry air at the same state (GPA 2172, ideal gas)."""
        return q(self.mean("molar_mass") / MOLAR_MASS_OF_AIR, "")

    @property
    def wobbe_index(self) -> Quantity:
        """Heat that an orifice passes, relative to other gases at the same pressure."""
        return wobbe_index(self.gross_heating_value, self.specific_gravity)


METHANE = Fuel("methane", MappingProxyType({"methane": 1.0}))
PROPANE = Fuel("propane", MappingProxyType({"propane": 1.0}))
# A common pipeline gas; the local utility publishes its own.
NATURAL_GAS = Fuel(
    "natural gas",
    MappingProxyType(
        {"methane": 0.93, "ethane": 0.04, "propane": 0.007, "butane": 0.002, "nitrogen": 0.015, "carbon dioxide": 0.006}
    ),
)


@physical(HEATING_VALUE, heating_value=_HEATING_VALUE, specific_gravity=_GRAVITY)
def wobbe_index(heating_value: float, specific_gravity: float) -> float:
    """Heating value over the square root of specific gravity: gases of one Wobbe index fire an orifice alike.

    Source: AGA Bulletin 36, interchangeability (from memory); it follows from the orifice equation.
    """
    return heating_value / math.sqrt(specific_gravity)


# ---------------------------------------------------------------- reading the meter


@physical(GAS_FLOW, dial=Param(VOLUME, 0, 10, open_low=True), duration=Param(DURATION, 1, 7200))
def metered_flow(dial: float, duration: float) -> float:
    """Gas flow through the meter when one turn of the dial takes `duration` (1 s to 2 h).

    Source: volume over time; printed clocking charts agree within their rounding to whole seconds.
    """
    return dial / duration


@physical(
    RATIO,
    meter_pressure=Param(METER_PRESSURE, 0, 100 * PSI),
    gas_temperature=Param(TEMPERATURE, 233.15, 333.15),
    elevation=_ELEVATION,
    base_pressure=Param(METER_PRESSURE, 10 * PSI, 16 * PSI),
)
def meter_correction(
    meter_pressure: float, gas_temperature: float, elevation: float = 0.0, base_pressure: float = BILLING_PRESSURE
) -> float:
    """Standard volume (60 °F, `base_pressure`, 14.73 psia unless given) in a volume the meter counted.

    `meter_pressure` is the gauge pressure in the meter, `gas_temperature` that of the gas in it.  Use it only for a
    meter whose index is not compensated, and not together with a heating value that the utility already states
    for its delivery altitude.
    Source: ideal gas law; AGA Report 7 states the same pressure and temperature multipliers (from memory).
    """
    absolute = standard_pressure.si(elevation) + meter_pressure
    return absolute / base_pressure * GAS_BASE_TEMPERATURE / gas_temperature


@physical(
    HEAT_RATE,
    dial=Param(VOLUME, 0, 10, open_low=True),
    duration=Param(DURATION, 1, 7200),
    heating_value=_HEATING_VALUE,
    correction=Param(RATIO, 0.3, 8),
)
def clocked_input(dial: float, duration: float, heating_value: float, correction: float = 1.0) -> float:
    """Heat input by the clock: dial over time × gross heating value × the meter correction.

    All other appliances must be off.  Without `correction` the heating value counts for the volume as metered.
    Source: printed clocking charts of furnace instructions use the same product.
    """
    return dial / duration * heating_value * correction


# ---------------------------------------------------------------- orifices and manifold pressure

# Q [ft³/h] = 1658.5 K A √(h / SG), A in in², h in inches of water: the coefficient for m³/s, m² and Pa.
_ORIFICE = 1658.5 * 0.3048**3 / 3600 / (0.0254**2 * math.sqrt(249.08891))
SPUD_COEFFICIENT = 0.90  # of usual drilled spuds; the manufacturer's own may stand between 0.8 and 0.95

# Diameters of the number drills in inches (ASME B94.11M twist drills, from memory).
_DRILL_INCHES = {
    42: 0.0935,
    43: 0.0890,
    44: 0.0860,
    45: 0.0820,
    46: 0.0810,
    47: 0.0785,
    48: 0.0760,
    49: 0.0730,
    50: 0.0700,
    51: 0.0670,
    52: 0.0635,
    53: 0.0595,
    54: 0.0550,
    55: 0.0520,
    56: 0.0465,
    57: 0.0430,
    58: 0.0420,
    59: 0.0410,
    60: 0.0400,
    61: 0.0390,
    62: 0.0380,
    63: 0.0370,
    64: 0.0360,
    65: 0.0350,
    66: 0.0330,
    67: 0.0320,
    68: 0.0310,
    69: 0.0292,
    70: 0.0280,
    71: 0.0260,
    72: 0.0250,
    73: 0.0240,
    74: 0.0225,
    75: 0.0210,
    76: 0.0200,
    77: 0.0180,
    78: 0.0160,
    79: 0.0145,
    80: 0.0135,
}
DRILLS: Mapping[int, Quantity] = MappingProxyType({n: q(inches, "inch") for n, inches in _DRILL_INCHES.items()})


def drill_diameter(number: int) -> Quantity:
    """Diameter of a number drill, No. 42 to 80; KeyError for another."""
    if number not in DRILLS:
        raise KeyError(f"no drill No. {number}; known are No. {min(DRILLS)} to {max(DRILLS)}")
    return DRILLS[number]


def nearest_drill(diameter: Quantity) -> int:
    """Number of the drill closest to `diameter` (0.0135 to 0.0935 in.)."""
    inches = Param(SMALL_LENGTH, 0.0134 * 0.0254, 0.0936 * 0.0254).read("diameter", diameter) / 0.0254
    return min(_DRILL_INCHES, key=lambda number: abs(_DRILL_INCHES[number] - inches))


@physical(
    GAS_FLOW,
    diameter=Param(SMALL_LENGTH, 0, 0.02, open_low=True),
    manifold=_MANIFOLD,
    specific_gravity=_GRAVITY,
    coefficient=Param(RATIO, 0.3, 1),
)
def orifice_flow(
    diameter: float, manifold: float, specific_gravity: float, coefficient: float = SPUD_COEFFICIENT
) -> float:
    """Gas through a burner orifice at a manifold pressure.

    Source: Q = 1658.5 K A √(h/SG), NFPA 54 Annex E; its table E.1.1(a) is reproduced within 1 %.
    """
    return coefficient * _ORIFICE * math.pi / 4 * diameter**2 * math.sqrt(manifold / specific_gravity)


@physical(RATIO, manifold=_MANIFOLD, new_manifold=_MANIFOLD, wobbe=_HEATING_VALUE, new_wobbe=_HEATING_VALUE)
def input_scaling(manifold: float, new_manifold: float, wobbe: float = 1.0, new_wobbe: float = 1.0) -> float:
    """Input after a change over input before, at the same orifices: √(pressure ratio) × Wobbe ratio.

    Source: the orifice equation of NFPA 54 Annex E.
    """
    return math.sqrt(new_manifold / manifold) * new_wobbe / wobbe


@physical(
    GAS_PRESSURE,
    manifold=_MANIFOLD,
    heat_input=Param(HEAT_RATE, 0, 3e6, open_low=True),
    wanted_input=Param(HEAT_RATE, 0, 3e6, open_low=True),
)
def manifold_for_input(manifold: float, heat_input: float, wanted_input: float) -> float:
    """Manifold pressure that brings a clocked input to the wanted one; the plate's range decides if it may be set.

    Source: the orifice equation of NFPA 54 Annex E.
    """
    return manifold * (wanted_input / heat_input) ** 2


# ---------------------------------------------------------------- altitude


@dataclass(frozen=True, slots=True)
class DerateRule:
    """One way to read a derate: straight lines between (elevation in ft, share of the rating) points.

    The rating stays whole up to `free_below` ft.  Beyond the last point the rule says nothing.
    """

    name: str
    words: str
    source: str
    free_below: float
    points: tuple[tuple[float, float], ...]


# Four readings in print, which differ: the plate or the instructions say which one counts, nobody else.
DERATE_RULES: Mapping[str, DerateRule] = MappingProxyType(
    {
        rule.name: rule
        for rule in (
            DerateRule(
                "4 % from sea level",
                "4 % for each 1000 ft above sea level, once above 2000 ft",
                "NFPA 54 Annex E, title of Table E.1.1(d)",
                2000,
                ((0, 1.0), (10000, 0.60)),
            ),
            DerateRule(
                "4 % above 2000 ft",
                "4 % for each 1000 ft of the part above 2000 ft",
                "printed equipment instructions",
                2000,
                ((2000, 1.0), (10000, 0.68)),
            ),
            DerateRule(
                "2 % from sea level",
                "2 % for each 1000 ft above sea level, once above 2000 ft",
                "printed instructions of induced-draft furnaces",
                2000,
                ((0, 1.0), (10000, 0.80)),
            ),
            DerateRule(
                "package table",
                "a table of inputs by elevation, lines between its entries",
                "printed instructions of a packaged unit",
                0,
                ((0, 1.0), (1000, 0.968), (3000, 0.904), (5000, 0.864), (6000, 0.844)),
            ),
        )
    }
)


def derated_share(elevation: Quantity, rule: str) -> Quantity:
    """Share of the rated input that remains at `elevation` by the named rule of DERATE_RULES.

    There is no default rule: readings in print differ by 10 % of the input at 5000 ft.  Raises KeyError for an
    unknown rule and OutOfRange beyond the rule's last elevation.
    """
    if rule not in DERATE_RULES:
        raise KeyError(f"no derate rule {rule!r}; known are {', '.join(map(repr, DERATE_RULES))}")
    found = DERATE_RULES[rule]
    last = found.points[-1][0]
    feet = Param(LENGTH, -500, last * 0.3048).read("elevation", elevation) / 0.3048
    if feet <= found.free_below:
        return q(1.0, "")
    for (low, low_share), (high, high_share) in zip(found.points, found.points[1:], strict=False):
        if feet <= high:
            return q(low_share + (high_share - low_share) * (feet - low) / (high - low), "")
    raise OutOfRange("elevation", show(elevation, LENGTH), f"at most {last:,.0f} ft")


def derated_input(rated_input: Quantity, elevation: Quantity, rule: str) -> Quantity:
    """Rated input less the altitude derate by the named rule of DERATE_RULES; see `derated_share`."""
    return from_si(_HEAT_RATE.read("rated input", rated_input) * derated_share(elevation, rule).magnitude, HEAT_RATE)


# ---------------------------------------------------------------- piping
