"""The batched monthly method against the same rules in plain Python (plain_account.py), on any wall and climate."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plain_account import climates, gains, layers, wall, year

from optimiser.moisture.diffusion import tangents
from optimiser.moisture.monthly import condensation

GRAMS = {"rtol": 1e-6, "atol": 1e-4}  # g/m2


@settings(max_examples=150, deadline=None)
@given(layers(), climates())
def test_every_month_and_place(one, weather):
    found = condensation(wall(*one), weather)
    start, monthly = year(*one, weather)
    assert found.start[0] == start
    np.testing.assert_allclose(found.monthly[0], monthly, **GRAMS)


@settings(max_examples=150, deadline=None)
@given(st.lists(st.integers(1, 50), min_size=2, max_size=12), st.data())
def test_tangents_are_the_lower_hull_between_wet_planes(steps, data):
    """Any saturation pressures, any planes wet; and what goes in and does not come out has stayed."""
    at = np.concatenate([[0.0], np.cumsum(steps) / 10])
    ceiling = np.array([data.draw(st.integers(200, 2500)) for _ in at], float)
    wet = np.array([data.draw(st.booleans()) for _ in at])
    wet[[0, -1]] = False
    outside, inside = (np.array([data.draw(st.integers(200, 2500))], float) for _ in range(2))
    every = np.arange(len(at))
    found = tangents(at[None], ceiling[None], wet[None], outside, inside, every)
    points = [(0.0, outside[0]), *zip(at[1:-1], ceiling[1:-1], strict=True), (at[-1], inside[0])]
    expected = np.zeros(len(at))
    for plane, value in gains(points, set(np.flatnonzero(wet))).items():
        expected[plane] = value
    np.testing.assert_allclose(found.gain[0], expected, atol=1e-6)
    pressure = found.pressure[0]
    assert (pressure[1:-1] <= ceiling[1:-1] * (1 + 1e-12)).all()
    assert pressure[wet] == pytest.approx(ceiling[wet])
    slopes = np.diff(pressure) / np.diff(at)
    assert found.gain.sum() == pytest.approx(slopes[-1] - slopes[0], abs=1e-6)
