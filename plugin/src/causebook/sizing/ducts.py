"""Supply ducts: static left for them, friction rate, trunk and branch sizes."""

from __future__ import annotations

from collections.abc import Sequence

from causebook import quantity as qty
from causebook.casefile.model import Case
from causebook.physics.duct import (
    FLEX,
    Round,
    design_friction_rate,
    equivalent_length,
    flex_factor,
    round_size,
    width_for,
)
from causebook.physics.whatif import Change
from causebook.quantity import CFM, FOOT, INCH, INWC
from causebook.sizing.found import Found
from causebook.sizing.plan import Plan
from causebook.sizing.runs import BRANCH_FITTINGS, FLEX_SLACK, RETURN_FITTINGS
from causebook.sizing.shapes import PRACTICE, text, work
from causebook.survey.model import Work

REGISTERS = 0.03 * INWC
"""Drop of the register on the longest run [Pa]; common practice, no source."""
BRANCH = 100 * CFM
"""Airflow of one usual branch [m³/s]."""
LONGEST = 40 * FOOT
"""Straight length taken for each side where none was measured [m]; estimate."""
USUAL_SIZE = 10 * INCH
"""Diameter at which fittings are turned into length [m]: one size stands for the run."""


def supply_enlarged(case: Case, found: Found, airflow: float, changes: Sequence[Change]) -> Plan:
    """Larger transition, trunk or more branches, so that the supply takes what a well-made one takes."""
    return Plan(
        "enlarge-supply",
        "Larger supply",
        ("Larger plenum transition or trunk, or more branches",),
        tuple(changes),
        frozenset({"supply"}),
        duct_works(case, found, airflow),
        effort=2,
    )


def duct_works(case: Case, found: Found, airflow: float) -> tuple[Work, ...]:
    """Static left for the ducts at `airflow` [m³/s], friction rate over the effective length, trunk and branch."""
    furnace = case.file.furnace
    if furnace is None or furnace.static_maximum is None:
        return ()
    rating = qty.si(furnace.static_maximum, qty.AIR_PRESSURE)
    parts = {part: found.drop(part, airflow) for part in found.system.plate.counted if part in ("filter", "coil")}
    parts["register"] = REGISTERS
    taken = sum(parts.values())
    terms = {"rating": text(rating, qty.AIR_PRESSURE)} | {p: text(d, qty.AIR_PRESSURE) for p, d in parts.items()}
    first = work(
        "Static left for the ducts",
        "left = rating − filter − coil − register",
        terms,
        text(rating - taken, qty.AIR_PRESSURE),
        "definition; drops as found, at the airflow wanted",
        "nothing is left: the parts take all of it before the ducts begin" if taken >= rating else "",
    )
    if taken >= rating:
        return (first,)
    left = rating - taken
    lengths = [
        max((qty.si(o.length, qty.LENGTH) for o in side if o.length is not None), default=LONGEST)
        for side in (case.file.return_, case.file.supply)
    ]
    fittings = sum(equivalent_length.si(c, airflow / 3, USUAL_SIZE) for c in (RETURN_FITTINGS, BRANCH_FITTINGS))
    effective = sum(lengths) + float(fittings)
    rate = design_friction_rate.si(left, effective)
    trunk, branch = (
        round_size.si(airflow, rate, density=found.density),
        round_size.si(BRANCH, rate, density=found.density),
    )
    second = work(
        "Friction rate",
        "rate = static left ÷ total effective length",
        {
            "static left": text(left, qty.AIR_PRESSURE),
            "straight length": text(sum(lengths), qty.LENGTH),
            "fittings as length": text(fittings, qty.LENGTH),
        },
        text(rate, qty.FRICTION_RATE),
        f"ASHRAE Handbook—Fundamentals, Duct Design, equal friction; usual fittings ({PRACTICE})",
    )
    third = work(
        "Trunk and branch at that rate",
        "smallest round duct whose friction at its airflow stays at the rate",
        {
            "trunk": text(airflow, qty.AIRFLOW),
            "branch": text(BRANCH, qty.AIRFLOW),
            "rate": text(rate, qty.FRICTION_RATE),
        },
        trunk_words(trunk, branch, rate, found.density),
        "ASHRAE Handbook—Fundamentals, Duct Design: Darcy-Weisbach and Colebrook",
    )
    return (first, second, third)


def trunk_words(trunk: float, branch: float, rate: float, density: float) -> str:
    """Trunk round and in 8 in. height, branch in metal and in flexible duct, in words; diameters [m], rate [Pa/m]."""
    try:
        flat = f" or {width_for.si(trunk, 8 * INCH) / INCH:.0f} × 8 in."
    except ValueError:  # too flat to be good practice
        flat = ""
    soft = flex_size(BRANCH, rate, density)
    return (
        f"trunk {trunk / INCH:.1f} in. round{flat}; branch {branch / INCH:.1f} in. round, "
        f"{soft.diameter / INCH:.1f} in. in flexible duct with {FLEX_SLACK:.0%} slack"
    )


def flex_size(airflow: float, rate: float, density: float, slack: float = FLEX_SLACK) -> Round:
    """Flexible duct, with its slack, that carries an airflow [m³/s] at a friction rate [Pa/m]."""
    diameter = round_size.si(airflow, rate, FLEX, density)
    for _ in range(30):
        # The slack's share of the loss depends on the size that it makes larger.
        larger = round_size.si(airflow, rate / float(flex_factor.si(diameter, slack)), FLEX, density)
        if abs(larger - diameter) < 1e-6:
            break
        diameter = larger
    return Round(diameter)
