"""Runs of duct with their fittings and grille, as parts of the air path."""

from __future__ import annotations

import math
from dataclasses import dataclass

from causebook.physics.airpath import Part
from causebook.physics.duct import (
    FLEX,
    FRAMING,
    GALVANIZED,
    ROUGHNESSES,
    Shape,
    fitting_loss,
    flex_factor,
    friction_rate_in,
)

RETURN_FITTINGS = 4.0
"""Loss coefficients of a return run's fittings together where the case lists none: boot behind the grille 1.2, two
elbows 0.5, take-in into the drop 1.3, exit 1.0; expert estimate on published coefficients."""
BRANCH_FITTINGS = 4.5
"""The same of a supply branch: take-off 1.0, two elbows 0.5, boot 1.5, register 1.5; expert estimate."""
GRILLE_LOSS = 5.0
"""Loss coefficient of a stamped return grille on the velocity at its gross face: about 0.03 in. w.c. at 300 fpm;
expert estimate."""
RUN_SPREAD = 0.3
"""Standard uncertainty of a run's resistance worked out before it is built, as a share; expert estimate."""
ROUGHNESS = {
    "metal": GALVANIZED,
    "flex": FLEX,
    "duct board": ROUGHNESSES["medium rough"],
    "joist bay": FRAMING,
    "stud bay": FRAMING,
}
FLEX_SLACK = 0.04
"""Slack of flexible duct laid flat and not pulled, as a share of its length; common practice, no source."""
CAVITY_LEAKAGE = "joints of a panned bay leak: seal every one, or count on losing a tenth of its air and more"


@dataclass(frozen=True, slots=True)
class Run:
    """One or several equal runs side by side: duct, its fittings and, for a return, its grille; bare SI numbers."""

    shape: Shape
    length: float
    """[m]"""
    of: str = "metal"
    slack: float = 0.0
    """Compression of flexible duct, as a share."""
    fittings: float = RETURN_FITTINGS
    """Loss coefficients together."""
    grille: float | None = None
    """Gross area of the grille [m²]."""
    count: int = 1

    def part(self, name: str, airflow: float, density: float) -> Part:
        """The runs as one part, exact near `airflow` [m³/s] through all of them."""
        each = airflow / self.count
        low, here, high = (self.drop(share * each, density) for share in (0.9, 1.0, 1.1))
        # The law through three points: friction falls a little short of the square.
        exponent = min(2.0, math.log(high / low) / math.log(1.1 / 0.9))
        return Part(name, here / airflow**exponent, exponent, density)

    def drop(self, airflow: float, density: float) -> float:
        """Drop of one run [Pa] at its airflow [m³/s]."""
        return sum(self.losses(airflow, density).values())

    def losses(self, airflow: float, density: float) -> dict[str, float]:
        """Friction, fittings and grille [Pa] of one run."""
        times = flex_factor.si(self.shape.equal_friction_si, self.slack) if self.of == "flex" else 1.0
        out = {
            "friction": float(
                times * friction_rate_in.si(self.shape, airflow, ROUGHNESS[self.of], density) * self.length
            ),
            "fittings": float(fitting_loss.si(self.fittings, airflow / self.shape.area_si, density)),
        }
        if self.grille is not None:
            out["grille"] = float(fitting_loss.si(GRILLE_LOSS, airflow / self.grille, density))
        return out
