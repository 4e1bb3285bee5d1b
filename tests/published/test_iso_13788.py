"""ISO 13788: humid air, the climate of the standard's example, the monthly method on one wall.

Status: formulas and the climate are recalled (memory); own = the tables of monthly amounts were computed by an
independent script; exact = closed form, worked out beside the check.
"""

import math

import numpy as np
import pytest

from optimiser.moisture import humid_air, surface
from optimiser.moisture.diffusion import construction
from optimiser.moisture.monthly import climate, condensation, places

OUTDOOR_C = np.array([-1, 0, 4, 9, 14, 18, 19, 19, 15, 10, 5, 1], float)
OUTDOOR_RH = np.array([85, 84, 78, 72, 68, 69, 73, 75, 79, 83, 88, 88]) / 100
OUTSIDE = humid_air.pressure_at_humidity(OUTDOOR_C, OUTDOOR_RH)
INSIDE = humid_air.indoor_pressure(OUTDOOR_C, OUTSIDE, humidity_class=3, margin=1.10)
BEHIND_BOARD = 1  # the place between board and cellulose
FROM_OCTOBER = -9


def walls(*membranes: float):
    """Outside to inside: board, cellulose, membrane, plasterboard."""
    sd = [[3.0, 0.6, membrane, 0.125] for membrane in membranes]
    return construction([[0.1154, 0.3 / 0.039, 0.0, 0.05]] * len(membranes), sd, r_si=0.25, r_se=0.04)


def found(*membranes: float):
    return condensation(walls(*membranes), climate(OUTDOOR_C, OUTDOOR_RH, 20.0, INSIDE))


# Humid air


def test_saturation_pressure_and_its_inverse():
    """610.5 Pa at 0 C from both sides; 20 C by hand: 610.5 exp(17.269 * 20 / 257.3) (exact)."""
    assert humid_air.saturation_pressure([0.0, -1e-9]) == pytest.approx(610.5, rel=1e-9)
    assert float(humid_air.saturation_pressure(20.0)) == pytest.approx(610.5 * math.exp(345.38 / 257.3), rel=1e-12)
    assert float(humid_air.saturation_pressure(-10.0)) == pytest.approx(610.5 * math.exp(-218.75 / 255.5), rel=1e-12)
    every = np.linspace(-30, 60, 181)
    assert humid_air.dew_point(humid_air.saturation_pressure(every)) == pytest.approx(every, abs=1e-9)


@pytest.mark.parametrize(("number", "excess"), [(1, 270), (2, 540), (3, 810), (4, 1080)])
def test_humidity_classes(number, excess):
    """Upper limits at 0 C and below, straight to 0 at 20 C (memory)."""
    at = humid_air.indoor_pressure([-8.0, 0.0, 10.0, 20.0, 25.0], np.full(5, 700.0), number, margin=1.0)
    assert at == pytest.approx([700 + excess, 700 + excess, 700 + excess / 2, 700, 700])


def test_an_unknown_humidity_class_is_refused():
    with pytest.raises(ValueError, match="expected 1, 2, 3 or 4"):
        humid_air.indoor_pressure(0.0, 500.0, 5)


def test_indoor_pressures_of_the_example():
    """Class 3 x 1.10 (memory for the climate; own for the figures)."""
    expected = [1369, 1404, 1347, 1316, 1354, 1512, 1648, 1692, 1569, 1464, 1435, 1424]
    assert INSIDE.round().tolist() == expected


def test_required_temperature_factor_of_the_example():
    """f_Rsi,min 0.773, in February."""
    factor, month = surface.governing(surface.required_factor(OUTDOOR_C, 20.0, INSIDE))
    assert (round(factor, 3), month) == (0.773, 1)


def test_temperature_factor_of_a_wall():
    """R_T 2.0 with Rsi 0.13: with 0.25 it is 2.12, f = 1 - 0.25/2.12 (exact)."""
    assert surface.temperature_factor(0.5) == pytest.approx(1 - 0.25 / 2.12, rel=1e-12)


# The monthly method

MONTHLY = {  # October to September, g/m2 (own)
    0.5: (56.6, 210.0, 310.9, 326.0, 288.0, 190.7, 6.1, -205.3, -346.4, -347.3, -320.3, -125.3),
    2.0: (3.4, 82.8, 130.3, 136.4, 119.3, 66.4, -29.4, -143.7, -217.0, -148.5, 0.0, 0.0),
}
PEAK_AND_LEFT = {0.5: (1388.4, 43.9), 2.0: (538.6, 0.0)}
ROUNDED = 0.051  # g/m2, figures given to 0.1


@pytest.mark.parametrize("membrane", MONTHLY)
def test_twelve_months(membrane):
    result = found(membrane)
    assert result.start[0] == 9
    assert np.roll(result.monthly[0, BEHIND_BOARD], FROM_OCTOBER) == pytest.approx(MONTHLY[membrane], abs=ROUNDED)
    peak, left = PEAK_AND_LEFT[membrane]
    assert result.peak[0, BEHIND_BOARD] == pytest.approx(peak, abs=ROUNDED)
    assert result.left[0, BEHIND_BOARD] == pytest.approx(left, abs=ROUNDED)


def test_it_condenses_on_the_board_alone():
    result = found(0.5, 2.0)
    assert [place for place in range(7) if result.monthly[:, place].any()] == [BEHIND_BOARD]
    assert places(4)[BEHIND_BOARD] == (0, 1)


def test_january_in_closed_form():
    """Membrane 0.5 m: 2e-10 * 31 d * ((1369 - p) / 1.225 - (p - p_e) / 3.0), p saturated at -1 + 21 * 0.1554/R_T C."""
    total = 0.04 + 0.1154 + 0.3 / 0.039 + 0.05 + 0.25
    behind = -1 + 21 * 0.1554 / total
    saturated = 610.5 * math.exp(21.875 * behind / (265.5 + behind))
    outside = 0.85 * 610.5 * math.exp(-21.875 / 264.5)
    inside = outside + 1.1 * 810
    amount = 2e-10 * 31 * 86400 * ((inside - saturated) / 1.225 - (saturated - outside) / 3.0) * 1000
    assert amount == pytest.approx(326.02, abs=0.005)
    assert found(0.5).monthly[0, BEHIND_BOARD, 0] == pytest.approx(amount, rel=1e-9)


def test_boundary_values_for_the_drawing():
    """January, membrane 0.5 m: surfaces at the air's vapour pressure, the wet plane saturated (exact)."""
    result = found(0.5)
    total = 0.04 + 0.1154 + 0.3 / 0.039 + 0.05 + 0.25
    inward = np.cumsum([0.04, 0.1154, 0.3 / 0.039, 0.0, 0.05])
    assert result.temperature[0, :, 0] == pytest.approx(-1 + 21 * inward / total)
    saturated = float(humid_air.saturation_pressure(result.temperature[0, 1, 0]))
    slope = (INSIDE[0] - saturated) / 1.225
    expected = [OUTSIDE[0], saturated, saturated + slope * 0.6, saturated + slope * 1.1, INSIDE[0]]
    assert result.pressure[0, :, 0] == pytest.approx(expected)
    assert result.humidity[0, 1, 0] == pytest.approx(1.0)
