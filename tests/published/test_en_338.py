"""EN 338: strength classes C16, C18, C24, and the relations of EN 384 between their properties.

Status: memory, not read from paper. The relations are a second, independent witness: each tabulated value is theirs
after rounding to the table's steps.
"""

import numpy as np
import pytest

from materials.catalogue import load_catalogue
from optimiser.strength.classes import CLASSES, timber

# f_m, f_t0, f_c0, f_c90, f_v [N/mm2], E_mean, E_05, E_90, G [kN/mm2], rho_k, rho_mean [kg/m3]: EN 338:2016 (memory)
TABLE = {
    "C16": (16, 8.5, 17, 2.2, 3.2, 8.0, 5.4, 0.27, 0.50, 310, 370),
    "C18": (18, 10, 18, 2.2, 3.4, 9.0, 6.0, 0.30, 0.56, 320, 380),
    "C24": (24, 14.5, 21, 2.5, 4.0, 11.0, 7.4, 0.37, 0.69, 350, 420),
}
UNITS = (1e6,) * 5 + (1e9,) * 4 + (1.0,) * 2
each_class = pytest.mark.parametrize("name", TABLE)


@each_class
def test_table(name):
    found = tuple(vars(CLASSES[name]).values())
    assert found == pytest.approx(tuple(value * unit for value, unit in zip(TABLE[name], UNITS, strict=True)))


def test_only_the_classes_that_are_tested():
    assert set(CLASSES) == set(TABLE)


@each_class
def test_compression_along_the_grain(name):
    """EN 384 (memory): f_c0 = 4.3 sqrt(f_m) [N/mm2], the table in whole numbers."""
    c = CLASSES[name]
    assert c.compression / 1e6 == round(4.3 * np.sqrt(c.bending / 1e6))


@each_class
def test_tension_along_the_grain(name):
    """EN 384 (memory): f_t0 = -3.07 + 0.73 f_m [N/mm2], the table in halves."""
    c = CLASSES[name]
    assert c.tension / 1e6 == round(2 * (-3.07 + 0.73 * c.bending / 1e6)) / 2


@each_class
def test_compression_across_the_grain(name):
    """EN 384 (memory): f_c90 = 0.007 rho_k [N/mm2]; the table in tenths, 2.45 rounded up."""
    c = CLASSES[name]
    assert c.compression_across / 1e6 == pytest.approx(0.007 * c.density_k, abs=0.0501)


@each_class
def test_moduli(name):
    """EN 384 (memory): E_05 = 0.67 E, E_90 = E / 30, G = E / 16; the table in tenths and hundredths of kN/mm2."""
    c = CLASSES[name]
    assert c.modulus_05 / 1e9 == pytest.approx(0.67 * c.modulus / 1e9, abs=0.0501)
    assert c.modulus_across / 1e9 == pytest.approx(c.modulus / 1e9 / 30, abs=0.00501)
    assert c.shear_modulus / 1e9 == pytest.approx(c.modulus / 1e9 / 16, abs=0.00501)


@each_class
def test_mean_density(name):
    """EN 384 (memory): rho_mean = 1.2 rho_k, the table in tens."""
    c = CLASSES[name]
    assert c.density == round(1.2 * c.density_k, -1)


def test_a_better_class_is_better_in_everything():
    ordered = [vars(CLASSES[name]) for name in ("C16", "C18", "C24")]
    for key in ordered[0]:
        assert ordered[0][key] <= ordered[1][key] <= ordered[2][key]


def test_many_studs_each_of_its_class():
    found = timber(["C24", "C16", "C24"])
    assert found.bending.tolist() == [24e6, 16e6, 24e6]
    assert found.density.tolist() == [420, 370, 420]


def test_an_unknown_class_is_named():
    with pytest.raises(ValueError, match="'C25'; expected one of C16, C18, C24"):
        timber(["C24", "C25"])


def test_every_graded_timber_of_the_catalogue_is_here():
    graded = {each.strength_class for each in load_catalogue().materials.values()} - {None}
    assert graded <= set(CLASSES)
