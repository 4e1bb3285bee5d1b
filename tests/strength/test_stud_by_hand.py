"""The worst of a stud's cases, and its deflection, by hand. EN 1995-1-1, formulas as in the test; exact unless said."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.strength.classes import CLASSES
from optimiser.strength.loads import WallLoads
from optimiser.strength.stud import DEFLECTION, WIND_ALONE, LoadCase, Strength, Stud, check

CASES = (LoadCase("permanent alone", "shear"), LoadCase("permanent + wind", "shear"), LoadCase(WIND_ALONE, DEFLECTION))


def strength(*rows: tuple[float, float, float]) -> Strength:
    utilisation = np.array(rows)
    factors = np.ones((3, len(rows)))
    return Strength(CASES, utilisation, np.ones(utilisation.shape, bool), *factors)


def test_the_worst_case_counts_wherever_it_stands():
    found = strength((0.3, 1.2, 0.5), (0.9, 0.2, 0.1), (0.2, 0.4, 1.0))
    assert found.largest.tolist() == [1.2, 0.9, 1.0]
    assert found.governing.tolist() == [1, 0, 2]
    assert found.passes.tolist() == [False, True, True]
    assert found.governing_words(2) == "horizontal deflection under wind (characteristic)"


def test_a_case_that_does_not_apply_never_governs():
    found = strength((0.0, 0.0, 0.0))
    found.applies[0, 0] = False
    assert found.governing.tolist() == [1]
    assert [case for case, _ in found.of()] == list(CASES[1:])


@pytest.mark.parametrize(("wind", "passes"), [(300.0, True), (1000.0, False)])
def test_a_slender_stud_fails_by_its_deflection_alone(wind, passes):
    """5 w L^4 / (384 E I) over L / 300 under characteristic wind (the limit from memory): of the cases the largest."""
    depth, width, spacing, length = 0.12, 0.045, 0.6, 3.5
    found = check(Stud(depth, width, spacing, length, CLASSES["C24"]), WallLoads(permanent=2e3, wind=wind))
    bow = 5 * wind * spacing * length**4 / (384 * 11e9 * width * depth**3 / 12)
    others = [value for case, value in found.of() if case.check != DEFLECTION]
    assert 0 < max(others) < 1
    assert found.largest[0] == pytest.approx(bow / (length / 300), rel=1e-12)
    assert found.governing_words() == "horizontal deflection under wind (characteristic)"
    assert found.passes.tolist() == [passes]
