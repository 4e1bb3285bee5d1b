"""DIN 68800-2, drying reserve, on the block climate of DIN 4108-3:2018.

Status: the rule is recalled (memory); the amounts were computed by an independent script (own) and in closed form
(exact) below. Where 166.5 is quoted for the reserve it is the difference of the rounded amounts; unrounded 166.41.
"""

import math

import pytest

from optimiser.checks.moisture.demand import MoistureDemand
from optimiser.moisture.diffusion import construction
from optimiser.moisture.reserve import LEAST_RESERVE, drying_reserve, sd_ratio


def walls(*membranes: float):
    """Outside to inside: board, cellulose, membrane, plasterboard; Rsi 0.25, Rse 0.04."""
    sd = [[3.0, 0.6, membrane, 0.125] for membrane in membranes]
    return construction([[0.1154, 0.3 / 0.039, 0.0, 0.05]] * len(membranes), sd)


def test_published_figures():
    found = drying_reserve(walls(0.5, 2.0))
    assert found.condensed == pytest.approx([902.7, 378.1], abs=0.051)
    assert found.evaporable == pytest.approx([894.0, 544.6], abs=0.051)
    assert found.reserve[1] == pytest.approx(166.41, abs=0.0051)  # own; 166.5 is 544.6 less 378.1, both rounded
    assert ((found.reserve >= LEAST_RESERVE["wall"]) == [False, True]).all()


def test_in_closed_form():
    """Membrane 2 m: sd 2.725 inside the wet plane, 3.0 outside it (exact)."""
    plane = -5 + 25 * 0.1554 / (0.04 + 0.1154 + 0.3 / 0.039 + 0.05 + 0.25)
    saturated = 610.5 * math.exp(21.875 * plane / (265.5 + plane))
    inside = 0.5 * 610.5 * math.exp(17.269 * 20 / 257.3)
    outside = 0.8 * 610.5 * math.exp(21.875 * -5 / 260.5)
    seconds = 90 * 86400
    wets = 2e-10 * seconds * ((inside - saturated) / 2.725 - (saturated - outside) / 3.0) * 1000
    dries = 2e-10 * seconds * 500 * (1 / 2.725 + 1 / 3.0) * 1000
    found = drying_reserve(walls(2.0))
    assert found.condensed[0] == pytest.approx(wets, rel=1e-9)
    assert found.evaporable[0] == pytest.approx(dries, rel=1e-9)


def test_roofs_dry_at_2000_pa():
    """800 Pa in place of 500 (memory)."""
    wall, roof = (drying_reserve(walls(2.0), element).evaporable[0] for element in ("wall", "roof"))
    assert roof == pytest.approx(wall * 800 / 500)
    assert LEAST_RESERVE["roof"] == 250


def test_a_wall_that_stays_dry_by_calculation_still_needs_its_reserve():
    """Membrane 100 m: nothing condenses; the board's inner face is the plane a leak would wet (exact)."""
    found = drying_reserve(walls(100.0))
    assert found.condensed[0] == 0
    assert found.outer[0] == pytest.approx(3.0)
    assert found.inner[0] == pytest.approx(100.725)
    assert found.reserve[0] == pytest.approx(2e-10 * 90 * 86400 * 500 * (1 / 3.0 + 1 / 100.725) * 1000)


def test_ratio_inside_to_outside():
    """Common practice: at least 5 to 1, as the brief usually asks. Membrane 2 m: (2 + 0.125) / 3."""
    assert sd_ratio(walls(2.0).sd_dry, 1, 1) == pytest.approx(2.125 / 3.0)
    assert (sd_ratio(walls(14.875).sd_dry, 1, 1) >= MoistureDemand().least_sd_ratio - 1e-12).all()
    assert sd_ratio([[0.5, 2.0]], 0, 0)[0] == float("inf")
