"""Infrared readings against Planck's law, integrated by scipy, and against their own inverse."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from causebook.physics import surface
from causebook.quantity import OutOfRange, q

FAHRENHEIT = st.floats(75, 400)
EMISSIVITY = st.floats(0.05, 1.0)


def kelvin(fahrenheit: float) -> float:
    return (fahrenheit + 459.67) / 1.8


def test_at_its_own_emissivity_the_instrument_shows_the_truth() -> None:
    shown = surface.infrared_shows(q(145, "degF"), q(70, "degF"), 0.95, 0.95)
    assert shown.to("degF").magnitude == pytest.approx(145)


@given(FAHRENHEIT, EMISSIVITY, EMISSIVITY)
def test_the_way_back_is_the_way_there(true: float, own: float, set_to: float) -> None:
    shown = surface.infrared_shows.si(kelvin(true), kelvin(70), own, set_to)
    assert surface.surface_behind.si(shown, kelvin(70), own, set_to) == pytest.approx(kelvin(true), rel=1e-9)


@given(FAHRENHEIT, st.floats(0.05, 0.94))
def test_a_duller_setting_than_the_metal_reads_low(true: float, own: float) -> None:
    assert kelvin(70) <= surface.infrared_shows.si(kelvin(true), kelvin(70), own, 0.95) <= kelvin(true) + 1e-9


@pytest.mark.parametrize("true", [110, 145, 160])
@pytest.mark.parametrize("own", [0.1, 0.28, 0.6])
def test_all_wavelengths_are_near_what_8_to_14_micrometres_give(true: float, own: float) -> None:
    """Planck's law over the band of usual instruments (scipy.integrate.quad), within the few degrees claimed."""

    def band(t: float) -> float:
        return float(quad(lambda w: 1 / (w**5 * math.expm1(14387.769 / (w * t))), 8, 14)[0])

    room = band(kelvin(70))
    received = own * band(kelvin(true)) + (1 - own) * room
    shown = brentq(lambda t: 0.95 * band(t) + 0.05 * room - received, 280, 400)
    assert surface.infrared_shows.si(kelvin(true), kelvin(70), own, 0.95) == pytest.approx(shown, abs=5 / 1.8)


def test_an_emissivity_above_one_is_refused() -> None:
    with pytest.raises(OutOfRange, match="emissivity"):
        surface.infrared_shows(q(145, "degF"), q(70, "degF"), 1.2)
