"""Saturation pressure against the package psychrolib, which follows the ASHRAE Handbook (independent, run here)."""

import numpy as np
import psychrolib
import pytest

from optimiser.moisture import humid_air


@pytest.fixture(autouse=True)
def metric():
    before = psychrolib.PSYCHROLIB_UNITS
    psychrolib.SetUnitSystem(psychrolib.SI)
    yield
    psychrolib.PSYCHROLIB_UNITS = before


@pytest.mark.parametrize(("temperatures", "tolerance"), [(np.arange(-5, 40.1, 0.5), 0.002), ([-10.0], 0.0025)])
def test_saturation_pressure(temperatures, tolerance):
    theirs = [psychrolib.GetSatVapPres(float(each)) for each in temperatures]
    np.testing.assert_allclose(humid_air.saturation_pressure(temperatures), theirs, rtol=tolerance)


@pytest.mark.parametrize("temperature", [5.0, 12.0, 20.0, 26.0])
@pytest.mark.parametrize("humidity", [0.4, 0.5, 0.65, 0.8])
def test_dew_point(temperature, humidity):
    """0.2 % of the pressure is some 0.03 K."""
    theirs = psychrolib.GetTDewPointFromRelHum(temperature, humidity)
    ours = humid_air.dew_point(humid_air.pressure_at_humidity(temperature, humidity))
    assert ours == pytest.approx(theirs, abs=0.05)
