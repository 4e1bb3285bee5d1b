"""Hukka and Viitanen 1999, a mathematical model of mould growth on wooden material: the critical humidity.

Status: the polynomial is recalled (memory); the figure follows from it (exact).
"""

import numpy as np
import pytest

from optimiser.moisture import humid_air


@pytest.mark.parametrize(("temperature", "percent"), [(10.0, 82.0), (5.0, 88.0), (20.0, 80.0), (25.0, 80.0)])
def test_critical_humidity(temperature, percent):
    """10 C: -2.67 + 16 - 31.3 + 100 = 82.03 %."""
    assert round(float(humid_air.critical_humidity(temperature)) * 100, 1) == pytest.approx(percent, abs=0.1)


def test_nothing_grows_in_frost():
    assert np.isinf(humid_air.critical_humidity([0.0, -10.0])).all()
    assert np.isfinite(humid_air.critical_humidity(0.1))
