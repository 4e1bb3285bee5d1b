"""Mould inside the wall: where the months are read, and by what they miss the critical humidity."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.moisture import humid_air
from optimiser.moisture.diffusion import construction
from optimiser.moisture.monthly import climate, condensation
from optimiser.moisture.mould import at_boundary


def found(*sheathing_sd: float):
    walls = construction([[0.1, 5.0, 0.0, 0.05]] * len(sheathing_sd), [[sd, 0.4, 10.0, 0.1] for sd in sheathing_sd])
    outdoors = 9 - 9 * np.cos(np.arange(12) * np.pi / 6)
    return condensation(walls, climate(outdoors, np.full(12, 0.8), 20.0, humid_air.pressure_at_humidity(20.0, 0.5)))


def test_margin_of_the_sheathing():
    """Dry wall: humidity from the straight line by hand, critical humidity at the temperature there (exact)."""
    result = found(0.3)
    assert not result.wet[0]
    mould = at_boundary(result, 1)
    month = 3
    t_e = 9 - 9 * np.cos(month * np.pi / 6)
    t = t_e + (20 - t_e) * 0.14 / (0.04 + 0.1 + 5.0 + 0.05 + 0.25)
    outside, inside = float(humid_air.pressure_at_humidity(t_e, 0.8)), float(humid_air.pressure_at_humidity(20.0, 0.5))
    humidity = (outside + (inside - outside) * 0.3 / 10.8) / float(humid_air.saturation_pressure(t))
    assert mould.humidity[0, month] == pytest.approx(humidity, rel=1e-12)
    assert mould.margins[0, month] == pytest.approx(float(humid_air.critical_humidity(t)) - humidity, rel=1e-9)
    assert mould.margin[0] == mould.margins[0, mould.month[0]] == mould.margins[0].min()


def test_a_tighter_sheathing_has_less_margin():
    """In March, when vapour runs outward; in summer an open one lets the moist air in."""
    march = at_boundary(found(0.02, 0.3, 3.0), [1, 1, 1]).margins[:, 2]
    assert (np.diff(march) < 0).all()


def test_each_wall_at_its_own_boundary():
    result = found(0.3, 0.3)
    mould = at_boundary(result, [1, 2])
    assert mould.temperature[0].tolist() == result.temperature[0, 1].tolist()
    assert mould.temperature[1].tolist() == result.temperature[1, 2].tolist()
