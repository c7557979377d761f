"""Quantities: the only module that knows pint.

One registry, the kinds of quantity the trade reads, how people write them and how we show them back.
Everything public in `physics` takes and returns `Quantity`; the `physical` decorator does the converting and
the range checks, and keeps the bare-number function behind it as `.si` for the hot loops.
"""

from __future__ import annotations

import functools
import inspect
import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Generic, ParamSpec, TypeAlias, TypeVar

import pint

ureg: pint.UnitRegistry[float] = pint.UnitRegistry(autoconvert_offset_to_baseunit=True, cache_folder=None)
# pint would read "cfm" as centi-femto-meter; the trade's short forms are defined here, once.
# The inch of water is the conventional one (4 °C, 249.089 Pa); its 60 °F sibling differs by 0.1 %.
ureg.define("cfm = foot ** 3 / minute")
ureg.define("fpm = foot / minute")
ureg.define("acfh = foot ** 3 / hour")
ureg.define("inwc = 249.08891 * pascal = _ = inch_water_column")
ureg.define("btu_it = 1055.05585262 * joule")
ureg.define("therm_ = 100000 * btu_it")
ureg.define("mbh_ = 1000 * btu_it / hour")
ureg.define("inwc_per_100ft = inwc / (100 * foot)")
ureg.define("percent_ = 0.01")
ureg.define("ppm_ = 1e-6")
if TYPE_CHECKING:
    Quantity: TypeAlias = pint.Quantity[Any]
else:
    Quantity = ureg.Quantity  # the registry's own class, so that every quantity belongs to it


class QuantityError(ValueError):
    """A text that is not the quantity asked for: `found`, `expected` and, where there is one, a `hint`."""

    def __init__(self, found: str, expected: str, hint: str = "") -> None:
        super().__init__(f"{found!r} is not {expected}" + (f" ({hint})" if hint else ""))
        self.found, self.expected, self.hint = found, expected, hint

    def __reduce__(self) -> tuple[Any, ...]:
        # Raised in a process of its own it must come back whole, or it takes the pool with it.
        return type(self), (self.found, self.expected, self.hint)


class OutOfRange(ValueError):
    """A quantity outside the range in which a relation holds; says which, its value and the range."""

    def __init__(self, name: str, shown: str, valid: str) -> None:
        super().__init__(f"{name} is {shown}; valid is {valid}")
        self.name, self.shown, self.valid = name, shown, valid

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self.name, self.shown, self.valid)


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity: what it is called, its SI unit, its customary US unit, and the decimals to show.

    `us` and `si_shown` are pint unit names; `us_text` and `si_text` what people read.  `difference` marks
    temperature differences, which must never be offset by 32.
    """

    name: str
    si: str
    us: str
    us_text: str
    us_digits: int
    si_shown: str
    si_text: str
    si_digits: int
    difference: bool = False

    @property
    def example(self) -> str:
        """How an author would write one, for messages."""
        return EXAMPLES.get(self.name, f"12 {self.us}")


def _kind(
    name: str,
    si: str,
    us: str,
    us_text: str,
    us_digits: int,
    si_shown: str = "",
    si_text: str = "",
    si_digits: int = 0,
    difference: bool = False,
) -> Kind:
    return Kind(name, si, us, us_text, us_digits, si_shown or si, si_text or si_shown or si, si_digits, difference)


AIR_PRESSURE = _kind("air pressure", "Pa", "inwc", "in. w.c.", 2, si_digits=0)
GAS_PRESSURE = _kind("gas pressure", "Pa", "inwc", "in. w.c.", 1, "kPa", "kPa", 2)
ROOM_PRESSURE = _kind("room pressure", "Pa", "Pa", "Pa", 1, si_digits=1)
ABSOLUTE_PRESSURE = _kind("absolute pressure", "Pa", "psi", "psia", 2, "kPa", "kPa", 1)
METER_PRESSURE = _kind("meter pressure", "Pa", "psi", "psig", 2, "kPa", "kPa", 2)
TEMPERATURE = _kind("temperature", "K", "degF", "°F", 0, "degC", "°C", 0)
PROBE_TEMPERATURE = _kind("probe temperature", "K", "degF", "°F", 1, "degC", "°C", 1)
TEMPERATURE_DIFFERENCE = _kind("temperature difference", "K", "delta_degF", "°F", 1, "delta_degC", "K", 1, True)
AIRFLOW = _kind("airflow", "m**3/s", "cfm", "cfm", 0, "L/s", "L/s", 0)
VELOCITY = _kind("velocity", "m/s", "fpm", "fpm", 0, "m/s", "m/s", 2)
HEAT_RATE = _kind("heat rate", "W", "btu_it/hour", "Btu/h", 0, "kW", "kW", 1)
HEAT_LOSS_RATE = _kind("heat loss per degree", "W/K", "btu_it/hour/delta_degF", "Btu/h per °F", 0, "W/K", "W/K", 0)
SENSIBLE_FACTOR = _kind(
    "sensible factor", "J/m**3/K", "btu_it/hour/cfm/delta_degF", "Btu/(h·cfm·°F)", 3, "J/m**3/K", "J/(m³·K)", 0
)
HEATING_VALUE = _kind("heating value", "J/m**3", "btu_it/foot**3", "Btu/ft³", 0, "MJ/m**3", "MJ/m³", 1)
GAS_FLOW = _kind("gas flow", "m**3/s", "foot**3/hour", "ft³/h", 1, "m**3/hour", "m³/h", 2)
VOLUME = _kind("volume", "m**3", "foot**3", "ft³", 1, "m**3", "m³", 2)
ROOM_VOLUME = _kind("room volume", "m**3", "foot**3", "ft³", 0, "m**3", "m³", 0)
LENGTH = _kind("length", "m", "foot", "ft", 0, "m", "m", 1)
SMALL_LENGTH = _kind("small length", "m", "inch", "in.", 2, "mm", "mm", 0)
ROUGHNESS = _kind("roughness", "m", "foot", "ft", 5, "mm", "mm", 3)
AREA = _kind("area", "m**2", "foot**2", "ft²", 0, "m**2", "m²", 1)
SMALL_AREA = _kind("small area", "m**2", "inch**2", "in²", 0, "cm**2", "cm²", 0)
FRICTION_RATE = _kind("friction rate", "Pa/m", "inwc_per_100ft", "in. w.c. per 100 ft", 3, "Pa/m", "Pa/m", 2)
DENSITY = _kind("density", "kg/m**3", "lb/foot**3", "lb/ft³", 4, "kg/m**3", "kg/m³", 3)
SPECIFIC_VOLUME = _kind("specific volume", "m**3/kg", "foot**3/lb", "ft³/lb", 3, "m**3/kg", "m³/kg", 4)
SPECIFIC_HEAT = _kind("specific heat", "J/kg/K", "btu_it/lb/delta_degF", "Btu/(lb·°F)", 3, "J/kg/K", "J/(kg·K)", 0)
ENTHALPY = _kind("enthalpy", "J/kg", "btu_it/lb", "Btu/lb", 2, "kJ/kg", "kJ/kg", 2)
DURATION = _kind("duration", "s", "s", "s", 0, "s", "s", 0)
LONG_DURATION = _kind("long duration", "s", "minute", "min", 0, "minute", "min", 0)
MASS_FLOW = _kind("mass flow", "kg/s", "lb/hour", "lb/h", 2, "kg/hour", "kg/h", 2)
VOLTAGE = _kind("voltage", "V", "V", "V", 1, si_digits=1)
CURRENT = _kind("current", "A", "A", "A", 1, si_digits=1)
FLAME_CURRENT = _kind("flame current", "A", "uA", "µA", 1, "uA", "µA", 1)
RESISTANCE = _kind("resistance", "ohm", "ohm", "Ω", 0, si_text="Ω")
CAPACITANCE = _kind("capacitance", "F", "uF", "µF", 1, "uF", "µF", 1)
SPEED = _kind("speed", "rpm", "rpm", "rpm", 0)
FREQUENCY = _kind("frequency", "Hz", "Hz", "Hz", 0)
POWER = _kind("power", "W", "W", "W", 0)
APPARENT_POWER = _kind("apparent power", "V*A", "V*A", "VA", 0, si_text="VA")
COOLING_CAPACITY = _kind("cooling capacity", "W", "refrigeration_ton", "ton", 1, "kW", "kW", 1)
GAS_FRACTION = _kind("gas fraction", "", "percent_", "%", 1, "percent_", "%", 1)
CO_FRACTION = _kind("CO fraction", "", "ppm_", "ppm", 0, "ppm_", "ppm", 0)
SHARE = _kind("share", "", "percent_", "%", 0, "percent_", "%", 0)
RATIO = _kind("ratio", "", "dimensionless", "", 3, "dimensionless", "", 3)
HUMIDITY_RATIO = _kind("humidity ratio", "", "dimensionless", "lb/lb", 4, "g/kg", "g/kg", 1)
U_VALUE = _kind(
    "heat transmission", "W/m**2/K", "btu_it/hour/foot**2/delta_degF", "Btu/(h·ft²·°F)", 3, "W/m**2/K", "W/(m²·K)", 2
)
AIRFLOW_PER_CAPACITY = _kind(
    "airflow per capacity", "m**3/s/W", "cfm/refrigeration_ton", "cfm/ton", 0, "L/s/kW", "L/s per kW", 1
)
AIR_CHANGES = _kind("air changes", "1/s", "1/hour", "per hour", 2, "1/hour", "per hour", 2)
DEGREE_DAYS = _kind("degree-days", "K*s", "delta_degF*day", "°F·d", 0, "delta_degC*day", "K·d", 0, True)
ENERGY = _kind("energy", "J", "therm_", "therm", 0, "kWh", "kWh", 0)

KINDS: dict[str, Kind] = {k.name: k for k in list(globals().values()) if isinstance(k, Kind)}

EXAMPLES = {
    "air pressure": "0.36 inH2O",
    "gas pressure": "3.5 inH2O",
    "room pressure": "11 Pa",
    "temperature": "19 degF",
    "probe temperature": "147.4 degF",
    "temperature difference": "65 degF",
    "airflow": "905 cfm",
    "heat rate": "80000 Btu/h",
    "heating value": "1035 Btu/ft^3",
    "volume": "2 ft^3",
    "room volume": "960 ft^3",
    "length": "150 ft",
    "small length": "16 in",
    "area": "1650 ft^2",
    "small area": "112 in^2",
    "duration": "93.3 s",
    "long duration": "9 min 10 s",
    "voltage": "24.5 V",
    "current": "5.1 A",
    "flame current": "0.7 µA",
    "capacitance": "12 µF",
    "resistance": "60 ohm",
    "speed": "1060 rpm",
    "gas fraction": "7.9 %",
    "CO fraction": "19 ppm",
    "share": "60 %",
    "ratio": "0.8",
    "cooling capacity": "3 ton",
    "meter pressure": "0.25 psi",
    "velocity": "300 fpm",
    "power": "500 W",
    "energy": "750 therm",
    "degree-days": "6311 degF*day",
}

# What authors write, turned into what the registry calls it.  Order matters: longer spellings first.
_SPELLINGS: tuple[tuple[str, str], ...] = (
    (r"inH2O|inH₂O|in\.?\s*w\.?\s*[cg]\.?|inWC|iwc", "inwc"),
    (r"°F|deg\s?F\b|degF", "degF"),
    (r"°C|deg\s?C\b|degC", "degC"),
    (r"µ|μ", "u"),
    (r"Ω", "ohm"),
    (r"²", "**2"),
    (r"³", "**3"),
    (r"\bB[Tt][Uu]\b", "btu_it"),
    (r"\btherms?\b", "therm_"),
    (r"\bsq\.?\s*ft\b", "foot**2"),
    (r"\bcu\.?\s*ft\b", "foot**3"),
    (r"\bft\b", "foot"),
    (r"\bin\b", "inch"),
    (r"%", "percent_"),
    (r"\bppm\b", "ppm_"),
    (r"\bpercent\b", "percent_"),
    (r"\btons?\b", "refrigeration_ton"),
    (r"\bh\b|\bhr\b", "hour"),
    (r"\bd\b", "day"),
    (r"\bpsig\b|\bpsia\b", "psi"),
)
_SPELLED = [(re.compile(pattern), unit) for pattern, unit in _SPELLINGS]
# How plates and meters print a unit, where one kind of quantity decides what a short form means ("F" is no farad on
# a thermometer).  The whole unit must match, capitals aside; by the SI unit of the kind.
_INCH = r"(?:\"|″|”|''|in(?:ch(?:es)?)?\.?)"
_WATER = r"(?:of\s*)?(?:w\.?\s*[cg]\.?|h2o|h₂o|water)"
_PRINTED_BY_KIND: dict[str, tuple[tuple[str, str], ...]] = {
    "K": ((r"(?:°|deg(?:rees?)?\.?)?\s*f", "degF"), (r"(?:°|deg(?:rees?)?\.?)?\s*c", "degC")),
    "Pa": ((rf"{_INCH}\s*{_WATER}|{_INCH}|{_WATER}|i\.?w\.?[cg]\.?", "inwc"), (r"psi", "psi")),
    "F": ((r"mfd\.?|mf|µf|μf|uf|micro-?farads?", "uF"),),
    "W": (
        (r"mbt?u?h|k\s*btu\s*(?:h|/\s*hr?)", "mbh_"),
        (r"btu\s*(?:h|/\s*hr?|per hour)?\.?", "btu_it/hour"),
        (r"tons?", "refrigeration_ton"),
    ),
    "W/K": ((r"btuh?(?:/hr?)?\s*(?:/|per)\s*°?f", "btu_it/hour/delta_degF"),),
    "A": ((r"amps?\.?(?: ?[ad]c)?|a ?[ad]c", "ampere"), (r"(?:µ|μ|u) ?a(?: ?dc)?|micro-?amps?(?: dc)?", "uA")),
    "V": ((r"v ?[ad]c|volts?(?: ?[ad]c)?", "volt"), (r"mv(?: ?[ad]c)?", "millivolt")),
    "ohm": ((r"ohms?|Ω|ω", "ohm"), (r"k(?: ?ohms?| ?Ω| ?ω)?", "kiloohm"), (r"meg(?: ?ohms?)?", "megaohm")),
    "m**3/s": ((r"cfm", "cfm"),),
    "rpm": ((r"rpm", "rpm"),),
    "s": ((r"secs?\.?|seconds?", "s"), (r"mins?\.?|minutes?", "minute"), (r"hrs?\.?|hours?", "hour")),
    "": ((r"ppm", "ppm_"), (r"pct\.?|percent", "percent_")),
    "K*s": ((r"hdd|degree[- ]days?|°?f[·* -]?d(?:ays?)?", "delta_degF*day"),),
}
_PRINTED = {
    si: [(re.compile(pattern, re.IGNORECASE), unit) for pattern, unit in forms]
    for si, forms in _PRINTED_BY_KIND.items()
}
_DIFFERENCES = {"degree_Fahrenheit": ureg.delta_degF, "degree_Celsius": ureg.delta_degC, "kelvin": ureg.delta_degC}
_NUMBER = r"[-+−]?(?:\d[\d,]*(?:\.\d[\d,]*)?|\.\d+)(?:[eE][-+]?\d+)?"
# A comma sets off thousands and nothing else: half the world writes 0.4 with one, and 4 would be read in its place.
_THOUSANDS = re.compile(r"[-+−]?[1-9]\d{0,2}(?:,\d{3})+(?:[.eE][^,]*)?")
_RANGE = re.compile(
    r"(?P<low>.+?)\s+to\s+(?P<high>.+)|(?P<from>[-+−]?[\d.,]+)\s*[^\w–—/-]*[FC]?\s*(?:[–—/-]|\.{2,3}|…)\s*(?P<upto>[\d.].*)"
)
_ONE = re.compile(rf"\s*(?P<number>{_NUMBER})\s*(?P<unit>\S.*?)?\s*$")
# pint evaluates powers of numbers while it reads a unit; a tower of them ("m**9**9**9") would never end.
_POWER_TOWER = re.compile(r"(\*\*|\^)(?!\s*-?[1-4](?!\s*(?:[\d.^]|\*\*)))")
_CLOCK = re.compile(r"^\s*(?:(\d+)\s*h\s*)?(?:(\d+)\s*min\s*)?(?:(\d+(?:\.\d+)?)\s*s)?\s*$")


FOOT = 0.3048
"""A foot [m]."""
INCH = FOOT / 12
"""An inch [m]."""
CFM = FOOT**3 / 60
"""A cubic foot a minute [m³/s]."""
FPM = FOOT / 60
"""A foot a minute [m/s]."""
INWC = 249.08891
"""An inch of water [Pa]."""
BTUH = 1055.05585262 / 3600
"""A Btu an hour [W]."""
DEGREE = 5 / 9
"""A difference of 1 °F [K]."""


def spread_kind(kind: Kind) -> Kind:
    """The kind of an uncertainty: a temperature's is a difference."""
    return TEMPERATURE_DIFFERENCE if kind.si == "K" else kind


def q(value: float, unit: str) -> Quantity:
    """A quantity from a number and a pint unit name."""
    return Quantity(value, unit)


def from_si(value: float, kind: Kind) -> Quantity:
    """The quantity of `kind` that is `value` in that kind's SI unit."""
    return Quantity(value, _known("delta_degC" if kind.difference and kind.si == "K" else kind.si))


def _printed(text: str, kind: Kind) -> str:
    """A unit as plates and meters print it for one kind, in the registry's words; any other text as it is."""
    for pattern, unit in _PRINTED.get(kind.si, ()):
        if pattern.fullmatch(text):
            return unit
    return text


@functools.lru_cache(maxsize=512)
def _unit(text: str) -> pint.Unit:
    for pattern, name in _SPELLED:
        text = pattern.sub(name, text)
    if _POWER_TOWER.search(text):
        raise ValueError(f"{text!r} holds a power that no unit has")
    return ureg.parse_units(text)


def is_unit(text: str) -> bool:
    """Whether the registry knows `text` as a unit; an empty text is the unit of plain numbers."""
    try:
        ureg.parse_units(text)
    except Exception:  # pint raises several unrelated classes for text that is no unit
        return False
    return True


def parse(text: str, kind: Kind) -> Quantity:
    """Read `text`, such as "0.52 inH2O" or "9 min 10 s", as a quantity of `kind`.

    Raises QuantityError when it is no number with a unit, or a unit of another kind.  A bare number is an
    error unless the kind has no unit.
    """
    expected = f"{_article(kind.name)} with its unit, such as {kind.example!r}"
    if kind.si == "s" and (clock := _CLOCK.match(text)) and any(clock.groups()):
        hours, minutes, seconds = (float(part or 0) for part in clock.groups())
        return Quantity(hours * 3600 + minutes * 60 + seconds, "s")
    found = _ONE.match(text)
    if not found:
        raise QuantityError(text, expected)
    written = found["number"]
    if "," in written and not _THOUSANDS.fullmatch(written):
        meant = (
            f"write {written.replace(',', '.')}"
            if written.count(",") == 1 and "." not in written
            else "write decimals with a point"
        )
        raise QuantityError(text, expected, f"a comma sets off thousands only, as in 1,025; {meant}")
    number = float(written.replace(",", "").replace("−", "-"))
    if not found["unit"]:
        if kind.name == "ratio":
            return Quantity(number, "")
        raise QuantityError(text, expected, "the unit is missing")
    try:
        unit = _unit(_printed(found["unit"], kind))
    except Exception as problem:  # pint raises several unrelated classes for text that is no unit
        raise QuantityError(text, expected, f"unknown unit {found['unit']!r}") from problem
    if kind.difference and kind.si == "K":
        unit = _DIFFERENCES.get(str(unit), unit)
    quantity = Quantity(number, unit)
    if not quantity.is_compatible_with(kind.si or "dimensionless"):
        raise QuantityError(text, expected, f"{found['unit']} is not a unit of {kind.name}")
    if not math.isfinite(number):
        raise QuantityError(text, expected, "not a finite number")
    return quantity


def range_example(kind: Kind) -> str:
    """How an author would write a range of a kind, for messages."""
    return "35 to 65 degF" if kind.difference else f"4.5 to 10.5 {kind.example.split()[-1]}"


def parse_range(text: str, kind: Kind) -> tuple[Quantity, Quantity]:
    """Read "35 to 65 degF" or, as plates print it, "35-65 F" as (low, high); the unit may stand once, at the end."""
    found = _RANGE.fullmatch(text.strip())
    if not found:
        raise QuantityError(
            text, f"a range of {kind.name}, such as {range_example(kind)!r}", "two numbers: low and high"
        )
    low, high = found["low"] or found["from"], found["high"] or found["upto"]
    expected = f"a range of {kind.name}, such as {range_example(kind)!r}"
    try:
        upper = parse(high, kind)
        unit = _ONE.match(high)
        whole = (_ONE.match(low) or {"unit": None})["unit"]
        lower = parse(low if whole else f"{low} {unit['unit'] if unit else ''}", kind)
    except QuantityError as problem:
        raise QuantityError(text, expected, problem.hint) from None
    if lower.to(kind.si or "") > upper.to(kind.si or ""):
        raise QuantityError(text, f"a range of {kind.name} from low to high")
    return lower, upper


@functools.lru_cache(maxsize=4096)
def _line(unit: pint.Unit, target: str) -> tuple[float, float]:
    """Every unit here is a straight line of another: its slope and its value at zero, asked of pint once."""
    zero, one = (float(Quantity(value, unit).to(target).magnitude) for value in (0.0, 1.0))
    return one - zero, zero


@functools.lru_cache(maxsize=256)
def _known(name: str) -> pint.Unit:
    return ureg.Unit(name)


def _in(quantity: Quantity, target: str) -> float:
    slope, zero = _line(quantity.units, target)
    return slope * float(quantity.magnitude) + zero


def si(quantity: Quantity, kind: Kind) -> float:
    """The bare number of `quantity` in the SI unit of `kind`."""
    return _in(quantity, "delta_degC" if kind.difference and kind.si == "K" else kind.si or "dimensionless")


def us(quantity: Quantity, kind: Kind) -> float:
    """The bare number of `quantity` in the customary US unit of `kind`."""
    return _in(quantity, kind.us)


def _number(value: float, digits: int) -> str:
    text = f"{value:,.{digits}f}"
    if float(text.replace(",", "")) == 0:
        text = text.replace("-", "")
    return text.replace("-", "−")


def show(quantity: Quantity, kind: Kind, digits: int | None = None) -> str:
    """As the trade in the US reads it: "0.52 in. w.c."."""
    text = _number(us(quantity, kind), kind.us_digits if digits is None else digits)
    return f"{text} {kind.us_text}".strip()


def show_si(quantity: Quantity, kind: Kind, digits: int | None = None) -> str:
    """The same in SI: "130 Pa"."""
    text = _number(_in(quantity, kind.si_shown or "dimensionless"), kind.si_digits if digits is None else digits)
    return f"{text} {kind.si_text}".strip()


def _article(name: str) -> str:
    return f"{'an' if name[0] in 'aeiou' else 'a'} {name}"


# ---------------------------------------------------------------- the door between quantities and bare numbers


@dataclass(frozen=True, slots=True)
class Param:
    """What a physical function accepts for one parameter: its kind and its valid range, in SI units."""

    kind: Kind
    low: float = -math.inf
    high: float = math.inf
    open_low: bool = False

    def read(self, name: str, value: Any) -> float:
        """`value` as a bare SI number; TypeError when a unit is due and missing, OutOfRange outside the range."""
        if isinstance(value, pint.Quantity):
            try:
                number = si(value, self.kind)
            except pint.DimensionalityError:
                raise TypeError(
                    f"{name} is {value:~}; expected {_article(self.kind.name)} such as {self.kind.example!r}"
                ) from None
        elif self.kind.si == "" and isinstance(value, (int, float)):
            number = float(value)
        else:
            raise TypeError(f"{name} is {value!r}; expected {_article(self.kind.name)} with its unit")
        if not (number > self.low if self.open_low else number >= self.low) or not number <= self.high:
            raise OutOfRange(name, show(from_si(number, self.kind), self.kind), self._valid())
        return number

    def _valid(self) -> str:
        low = show(from_si(self.low, self.kind), self.kind) if math.isfinite(self.low) else None
        high = show(from_si(self.high, self.kind), self.kind) if math.isfinite(self.high) else None
        if low is None and high is None:
            return "any finite value"
        if high is None:
            return f"{'above' if self.open_low else 'at least'} {low}"
        return f"at most {high}" if low is None else f"{'above ' if self.open_low else ''}{low} to {high}"


P = ParamSpec("P")
R = TypeVar("R")


class Physical(Generic[P, R]):
    """A relation on quantities; `.si` is the same relation on bare SI numbers (arrays too), unchecked."""

    def __init__(self, function: Callable[P, R], returns: Kind | None, params: dict[str, Param]) -> None:
        functools.update_wrapper(self, function)
        self.si = function
        self.returns, self.params = returns, params
        self._signature = inspect.signature(function)

    def __call__(self, *args: Any, **kwargs: Any) -> Any:
        bound = self._signature.bind(*args, **kwargs)
        for name, param in self.params.items():
            if name in bound.arguments and bound.arguments[name] is not None:
                bound.arguments[name] = param.read(name.replace("_", " "), bound.arguments[name])
        result: Any = self.si(*bound.args, **bound.kwargs)
        return result if self.returns is None else from_si(result, self.returns)


def physical(returns: Kind | None, /, **params: Param) -> Callable[[Callable[P, R]], Physical[P, R]]:
    """Declare a function on SI numbers as a relation on quantities: units and valid range of each parameter.

    The body is written once, on bare SI numbers; callers outside the hot loops pass and get quantities.
    `returns=None` leaves the result as the body made it (a dataclass of quantities, a word, a number
    without a unit).
    """
    return lambda function: Physical(function, returns, params)
