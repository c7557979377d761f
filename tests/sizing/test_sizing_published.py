"""Published values and worked examples, reproduced by the functions that size options.

The source stands beside each; `from memory` where it was not read again.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from types import SimpleNamespace

import pytest

from causebook import quantity as qty
from causebook.physics.building import area_for_velocity, california_return, combustion_volume_standard, transfer_area
from causebook.physics.duct import Rectangular, Round, design_friction_rate, width_for
from causebook.quantity import BTUH, CFM, FOOT, FPM, INCH, INWC, q
from causebook.sizing.ducts import flex_size
from causebook.sizing.filters import MEDIA, filter_works
from causebook.sizing.gas_input import drill_of, drilled, pressed
from causebook.sizing.plan import foretell
from causebook.sizing.replacement import cooling_work, load_works, loads, size_for
from causebook.sizing.return_air import size_return
from causebook.sizing.runs import Run

RHO = 1.2041


@dataclass(frozen=True)
class Example:
    """A published value: what is asked, how it is answered here, the value, its tolerance and its source."""

    asks: str
    answer: Callable[[], float]
    value: float
    within: float
    source: str


def friction(cfm: float, inches: float) -> float:
    """in. w.c. per 100 ft of a metal run."""
    return Run(Round(inches * INCH), 100 * FOOT, fittings=0.0).losses(cfm * CFM, RHO)["friction"] / INWC


def face(cfm: float, square_inches: float) -> float:
    """fpm on a filter's face, as the work shows it."""
    shown = filter_works(MEDIA[2], square_inches * INCH**2, cfm * CFM, RHO, "")[0].result
    return float(re.sub(r"[^\d.]", "", shown))


def load_of(method: str, **site: object) -> float:
    """Design heat loss [Btu/h] of a house by one method, from an 80,000 Btu/h furnace of 80 %."""
    empty = {
        "design_heat_loss": None,
        "run_share": None,
        "building_ua": None,
        "heating_fuel": None,
        "degree_days": None,
        "room": None,
        "outdoors": None,
        "design_outdoors": None,
    }
    case = SimpleNamespace(file=SimpleNamespace(site=SimpleNamespace(**{**empty, **site})), steps=())
    surveyed = SimpleNamespace(
        case=case,
        sets=(),
        plate_input=q(80000, "btu_it/hour"),
        heat=SimpleNamespace(efficiency=SimpleNamespace(value=q(0.80, ""))),
    )
    return next(x.size for x in loads(surveyed) if x.method == method) / BTUH


COLEBROOK = "Darcy-Weisbach with Colebrook, 0.0003 ft: fluids 1.3.1 friction_factor"
CALIFORNIA = "California Energy Standards, Tables 150.0-B and -C"
CLOCK = "orifice equation, square root of the pressure ratio (NFPA 54 Annex E)"
BALANCE = "steady heat balance; printed design temperatures"

EXAMPLES = [
    *(
        Example(f"friction of {cfm} cfm in {d} in.", lambda cfm=cfm, d=d: friction(cfm, d), rate, 0.01, COLEBROOK)
        for cfm, d, rate in (
            (100, 6, 0.0832),
            (200, 8, 0.0719),
            (400, 10, 0.0856),
            (500, 12, 0.0528),
            (600, 12, 0.0737),
            (1000, 14, 0.0886),
            (1200, 18, 0.0362),
            (1400, 16, 0.0856),
        )
    ),
    Example(
        "flexible duct for 256 cfm at 0.05, stretched",
        lambda: flex_size(256 * CFM, 0.05 * INWC / (100 * FOOT), RHO, 0.0).diameter / INCH,
        10.0,
        0.01,
        "fluids 1.3.1 and scipy brentq",
    ),
    Example(
        "flexible duct for 629 cfm at 0.05, stretched",
        lambda: flex_size(629 * CFM, 0.05 * INWC / (100 * FOOT), RHO, 0.0).diameter / INCH,
        14.0,
        0.01,
        "fluids 1.3.1 and scipy brentq",
    ),
    Example(
        "velocity pressure at 700 fpm",
        lambda: Run(Round(1.0), 0.0, fittings=1.0).losses(700 * FPM * math.pi / 4, RHO)["fittings"] / INWC,
        0.0305,
        0.005,
        "(V/4005 fpm)², standard air",
    ),
    Example(
        "square elbow without vanes at 900 fpm",
        lambda: Run(Round(1.0), 0.0, fittings=1.2).losses(900 * FPM * math.pi / 4, RHO)["fittings"] / INWC,
        1.2 * (900 / 4005) ** 2,
        0.005,
        "ASHRAE Duct Fitting Database, C 1.2, from memory",
    ),
    Example(
        "8 in. high duct equal to 12 in. round",
        lambda: width_for.si(12 * INCH, 8 * INCH) / INCH,
        15.5,
        0.02,
        "printed equal-friction charts: 16 × 8 in. is 12.1 in., from memory",
    ),
    Example(
        "2x10 joist bay at 16 in. centres, 550 cfm",
        lambda: (
            Run(Rectangular(14.5 * INCH, 9.25 * INCH), 100 * FOOT, fittings=0.0).losses(550 * CFM, RHO)["friction"]
            / INWC
        ),
        0.05,
        0.2,
        "Huebscher and Colebrook, smooth walls",
    ),
    Example(
        "friction rate of 0.25 in. w.c. over 250 ft",
        lambda: design_friction_rate.si(0.25 * INWC, 250 * FOOT) / INWC * 100 * FOOT,
        0.10,
        1e-6,
        "definition in residential duct design, from memory",
    ),
    Example("face velocity of 1200 cfm on 400 in²", lambda: face(1200, 400), 432, 0.002, "airflow over area"),
    Example("face velocity of 1200 cfm on 600 in²", lambda: face(1200, 600), 288, 0.002, "airflow over area"),
    Example("face velocity of 800 cfm on 320 in²", lambda: face(800, 320), 360, 0.002, "airflow over area"),
    Example(
        "grille for 1200 cfm at 300 fpm",
        lambda: area_for_velocity.si(1200 * CFM, 300 * FPM) / INCH**2,
        576,
        0.001,
        "airflow over velocity",
    ),
    *(
        Example(
            f"grille of the table for {tons} ton",
            lambda tons=tons, n=n: qty.us(
                california_return(q(tons, "refrigeration_ton"), n).grille_area, qty.SMALL_AREA
            ),
            area,
            1e-6,
            CALIFORNIA,
        )
        for tons, n, area in (
            (1.5, 1, 500),
            (2.0, 1, 600),
            (2.5, 1, 800),
            (3.5, 2, 1000),
            (4.0, 2, 1200),
            (5.0, 2, 1500),
        )
    ),
    Example(
        "opening for 116 cfm at 3 Pa",
        lambda: transfer_area.si(116 * CFM, 3.0) / INCH**2,
        0.55 * 116,
        0.02,
        "orifice with C 0.6: about 0.55 in² for each cfm at 3 Pa",
    ),
    Example(
        "combustion air for 100,000 Btu/h",
        lambda: combustion_volume_standard.si(100000 * BTUH) / 0.3048**3,
        5000,
        1e-6,
        "NFPA 54 9.3.2.1, 50 ft³ for each 1000 Btu/h",
    ),
    Example(
        "loss by run time: half the hour at 20 °F, 80,000 Btu/h at 80 %, designed for 2 °F",
        lambda: load_of(
            "run time", run_share=q(0.5, ""), outdoors=q(20, "degF"), room=q(70, "degF"), design_outdoors=q(2, "degF")
        ),
        640 * 68,
        0.001,
        BALANCE,
    ),
    Example(
        "loss by fuel: 750 therm, 6311 °F·d, 80 %, from 65 to 2 °F",
        lambda: load_of(
            "fuel",
            heating_fuel=q(750, "therm_"),
            degree_days=q(6311, "delta_degF*day"),
            room=q(65, "degF"),
            design_outdoors=q(2, "degF"),
        ),
        24956,
        0.001,
        "therms × 100,000 × efficiency ÷ (24 × degree-days)",
    ),
    Example(
        "loss by UA: 600 Btu/h per °F, from 70 to 5 °F",
        lambda: load_of(
            "UA", building_ua=q(600, "btu_it/hour/delta_degF"), room=q(70, "degF"), design_outdoors=q(5, "degF")
        ),
        39000,
        1e-6,
        BALANCE,
    ),
    Example(
        "least airflow for 3 ton",
        lambda: float(re.sub(r"[^\d.]", "", cooling_work(3.0, 1.0).note)),
        1050,
        0.001,
        "California Title 24 §150.0(m)13, 350 cfm/ton, from memory",
    ),
    Example(
        "drill No. 45", lambda: (drill_of("45") or 0.0) / INCH, 0.0820, 1e-6, "ASME B94.11M number drills, from memory"
    ),
]


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: e.asks)
def test_published_value(example):
    assert example.answer() == pytest.approx(example.value, rel=example.within), example.source


def test_there_are_at_least_25_of_them():
    assert len(EXAMPLES) >= 25


@pytest.mark.parametrize(("new", "ratio"), [(3.2, 0.956), (2.8, 0.894), (4.0, 1.069)])
def test_input_follows_the_root_of_the_manifold_pressure(worked, new, ratio):
    """Square root of the pressure ratio, as printed instructions use it (NFPA 54 Annex E)."""
    job = worked("large-orifices").job
    plan = pressed(job.surveyed, job.found, new * INWC)
    assert plan.changes[0].factor == pytest.approx(ratio, abs=0.001)


def test_input_follows_the_area_of_the_orifices(worked):
    """22.43 over 19.04 ft³/h of natural gas at 3.5 in. w.c.: drills No. 43 and 45 of the printed orifice tables
    (NFPA 54 Annex E Table E.1.1(a))."""
    job = worked("large-orifices").job
    plan = drilled(job.surveyed, job.found, drill_of("43"), None)
    put_in = foretell(job.found, plan).terms["input"].value
    assert qty.us(put_in, qty.HEAT_RATE) / 100000 == pytest.approx(22.43 / 19.04, rel=0.002)


def test_the_code_floor_of_a_64000_furnace_is_128_square_inches(worked):
    """Mechanical code family: 2 in² for each 1000 Btu/h of output.  At mid-rise its air passes them above 1300 fpm."""
    one = worked("short-of-return")
    size = size_return(one.surveyed)
    assert qty.us(size.floor, qty.SMALL_AREA) == pytest.approx(128, abs=0.5)
    # 64,000 / (1.08 × 50) = 1185 cfm in heating, 400 cfm for each of 3 tons in cooling.
    assert qty.us(size.airflow, qty.AIRFLOW) == pytest.approx(1200, rel=0.001)
    assert qty.us(size.airflow / size.floor, qty.VELOCITY) > 1300
    assert qty.us(size.needed, qty.SMALL_AREA) > qty.us(size.floor, qty.SMALL_AREA)


def test_output_of_69000_at_95_percent_is_137_percent_of_a_loss_of_48000(worked):
    """Arithmetic of a building-science article: 65,550 over 48,000 is 1.37."""
    site = SimpleNamespace(design_heat_loss=q(48000, "btu_it/hour"), design_outdoors=None)
    known = loads(SimpleNamespace(case=SimpleNamespace(file=SimpleNamespace(site=site), steps=()), sets=()))
    assert load_works(known, 65550 * BTUH)[-1].result.startswith("1.37")
    # 1.0 to 1.4 times the loss (ceiling of CSA F280-M90), with one uncertainty of the load to spare.
    size = size_for(known[0], 0.80, 1.0)
    assert 1.0 <= size * 0.80 / (48000 * BTUH) <= 1.4
