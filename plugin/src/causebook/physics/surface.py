"""What an infrared thermometer makes of a surface: a gray body in surroundings of one temperature."""

from __future__ import annotations

from typing import Any

from causebook.quantity import RATIO, TEMPERATURE, Param, physical

_TEMPERATURE = Param(TEMPERATURE, 200.0, 1000.0)
_EMISSIVITY = Param(RATIO, 0.0, 1.0, open_low=True)


@physical(TEMPERATURE, surface=_TEMPERATURE, surroundings=_TEMPERATURE, emissivity=_EMISSIVITY, set_to=_EMISSIVITY)
def infrared_shows(surface: Any, surroundings: Any, emissivity: Any, set_to: Any = 0.95) -> Any:
    """What the instrument shows of a surface; it takes the surface for one of emissivity `set_to`.

    A bare metal mirrors its surroundings: the instrument receives ε·T⁴ + (1 − ε)·T₀⁴ and solves the same sum with
    its own ε.  Taken over all wavelengths; an instrument that sees 8 to 14 µm differs by a few degrees.
    Source: Stefan and Boltzmann's law, Kirchhoff's law for an opaque gray surface.
    """
    received = emissivity * surface**4 + (1 - emissivity) * surroundings**4
    return ((received - (1 - set_to) * surroundings**4) / set_to) ** 0.25


@physical(TEMPERATURE, shown=_TEMPERATURE, surroundings=_TEMPERATURE, emissivity=_EMISSIVITY, set_to=_EMISSIVITY)
def surface_behind(shown: Any, surroundings: Any, emissivity: Any, set_to: Any = 0.95) -> Any:
    """The other way round: the temperature of the surface behind what the instrument shows.

    Source: see `infrared_shows`, with the two emissivities changing places.
    """
    return infrared_shows.si(shown, surroundings, set_to, emissivity)
