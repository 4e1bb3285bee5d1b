"""EN 1995-1-1 and EN 1990: factors, buckling, bearing, deflection and the combinations of loads.

Status: recommended values recalled (memory), not read from paper; exact = closed form; own = computed here by an
independent script in N and mm; seen = read in the source named.
"""

import numpy as np
import pytest

from optimiser.strength import stud as rules
from optimiser.strength.classes import CLASSES, timber
from optimiser.strength.loads import WallLoads, combinations
from optimiser.strength.national_parameters import DURATIONS, RECOMMENDED, Settings, k_mod
from optimiser.strength.stud import Stud, check


@pytest.mark.parametrize(("relative", "factor"), [(0.5, 0.9502), (1.0, 0.6893), (2.0, 0.2253)])
def test_buckling_factor(relative, factor):
    """Exact, by (6.25) to (6.29) with beta_c 0.2."""
    assert rules.buckling_factor(relative) == pytest.approx(factor, abs=5e-5)


def test_stocky_members_do_not_buckle():
    """Exact: k_c = 1 at lambda_rel 0.3 and below; the formula reaches it without a step."""
    assert rules.buckling_factor([0.0, 0.2, 0.3]) == pytest.approx(1.0, abs=1e-12)
    assert rules.buckling_factor(0.3 + 1e-9) == pytest.approx(1.0, abs=1e-8)


def test_slender_members_approach_euler():
    """Exact: k_c lambda_rel^2 -> 1, so that N -> pi^2 E_05 I / L^2."""
    assert float(rules.buckling_factor(200.0)) * 200.0**2 == pytest.approx(1.0, rel=0.01)


@pytest.mark.parametrize(
    ("service_class", "row"),
    [(1, (0.6, 0.7, 0.8, 0.9, 1.1)), (2, (0.6, 0.7, 0.8, 0.9, 1.1)), (3, (0.5, 0.55, 0.65, 0.7, 0.9))],
)
def test_k_mod_of_solid_timber(service_class, row):
    """Table of k_mod (memory)."""
    assert [k_mod([service_class], each)[0] for each in DURATIONS] == list(row)


def test_recommended_values():
    """EN 1990 and EN 1995-1-1, where a national annex may choose (memory)."""
    s = RECOMMENDED
    assert (s.gamma_g, s.gamma_q, s.gamma_m) == (1.35, 1.5, 1.30)
    assert (s.psi0_imposed, s.psi0_snow, s.psi0_wind) == (0.7, 0.5, 0.6)
    assert (s.duration_imposed, s.duration_snow, s.duration_wind) == ("medium", "short", "short")
    assert (s.k_sys, s.k_c90, s.deflection_limit) == (1.0, 1.25, 300)


@pytest.mark.parametrize(("depth_mm", "factor"), [(150, 1.0), (200, 1.0), (100, 1.5**0.2), (20, 1.3)])
def test_size_factor(depth_mm, factor):
    """(3.1), exact."""
    assert rules.size_factor(depth_mm / 1000) == pytest.approx(factor, rel=1e-12)


def test_lateral_torsional_buckling_of_a_beam():
    """Benoit, Legrand, Tastet, Calcul de structures en bois (2008), example 2.3.2: 50 x 200 C24, 5 m under uniform
    load on its upper edge: lambda_rel,m 1.277, k_crit 0.602 (seen, second-hand, in a public test suite)."""
    length = rules.lateral_length(0.2, 5.0, 5.0)
    relative = rules.lateral_slenderness(0.2, 0.05, length, CLASSES["C24"])
    assert length == pytest.approx(0.9 * 5.0 + 2 * 0.2, rel=1e-12)
    assert relative == pytest.approx(1.277, abs=5e-4)
    assert rules.lateral_factor(relative) == pytest.approx(0.602, abs=5e-4)


@pytest.mark.parametrize(("relative", "factor"), [(0.5, 1.0), (0.75, 1.0), (1.0, 0.81), (1.4, 0.51), (2.0, 0.25)])
def test_lateral_factor(relative, factor):
    """(6.34), exact."""
    assert rules.lateral_factor(relative) == pytest.approx(factor, abs=1e-12)


@pytest.mark.parametrize(
    ("width", "spacing", "end", "length"),
    [
        (45, 600, np.inf, 105),  # 30 mm on either side
        (45, 600, 0, 75),  # flush with the plate's end
        (45, 600, 12, 87),
        (20, 600, np.inf, 60),  # no more than the contact length
        (45, 85, np.inf, 85),  # neighbours share what lies between them
        (45, 45, np.inf, 45),
    ],
)
def test_bearing_length(width, spacing, end, length):
    """6.1.5 (memory), arithmetic exact, mm."""
    assert rules.bearing_length(width / 1e3, spacing / 1e3, end / 1e3) == pytest.approx(length / 1e3, rel=1e-12)


def test_combinations_of_dwellings():
    """EN 1990 (6.10) with the recommended factors: 13 combinations (exact)."""
    found = {each.name: each for each in combinations()}
    assert len(found) == 13
    alone = found["permanent alone"]
    assert (alone.permanent, alone.imposed, alone.snow, alone.wind, alone.duration) == (1.35, 0, 0, 0, "permanent")
    full = found["permanent + snow + 0.7 imposed + 0.6 wind"]
    assert (full.permanent, full.imposed, full.snow, full.wind) == pytest.approx((1.35, 1.05, 1.5, 0.9))
    assert full.duration == "short"
    assert found["permanent + imposed"].duration == "medium"
    assert found["permanent + imposed + 0.5 snow"].duration == "short"


def test_the_longer_load_may_govern():
    """Exact: a little snow shortens the combination, k_mod rises from 0.8 to 0.9, and imposed load alone is worse."""
    studs = Stud(0.145, 0.045, 0.6, 2.7, CLASSES["C24"])
    found = check(studs, WallLoads(permanent=5e3, imposed=20e3, snow=0.1e3))
    assert found.governing_words() == "bearing on the plate under permanent + imposed"


def test_bearing_on_the_plate():
    """Own: 45 x 195 C24 at 600 mm under 10, 4, 6 kN/m: 16.02 kN, k_mod 0.9, 1.25 x 2.5 / 1.3 N/mm2 on 105 x 195 mm."""
    found = check(Stud(0.195, 0.045, 0.6, 2.7, CLASSES["C24"]), WallLoads(10e3, 4e3, 6e3, 800.0))
    assert found.governing_words() == "bearing on the plate under permanent + snow + 0.7 imposed"
    assert found.largest[0] == pytest.approx(0.361651, abs=5e-7)
    assert found.k_c_y[0] == pytest.approx(0.817325, abs=5e-7)
    assert (found.k_c_z[0], found.k_crit[0]) == (1.0, 1.0)


def test_bearing_between_close_studs_is_not_raised():
    """6.1.5 (memory): k_c,90 above 1 holds from a clear spacing of twice the plate's thickness on (90 mm)."""
    bearing = [
        dict((case.check, value) for case, value in check(wall, WallLoads(10e3)).of())["bearing on the plate"]
        for wall in (Stud(0.145, 0.045, spacing, 2.7, CLASSES["C24"]) for spacing in (0.135, 0.134))
    ]
    assert bearing[1] / bearing[0] == pytest.approx(1.25 * 134 / 135, rel=1e-9)


def test_deflection_at_its_limit():
    """Exact: 5 w L^4 / (384 E I) = L / 300 gives a utilisation of 1."""
    c24, h, b, length, spacing = CLASSES["C24"], 0.145, 0.045, 2.7, 0.6
    w = length / 300 * 384 * c24.modulus * b * h**3 / 12 / (5 * length**4)
    found = dict(
        (case.check, value) for case, value in check(Stud(h, b, spacing, length, c24), WallLoads(wind=w / spacing)).of()
    )
    assert found["horizontal deflection"] == pytest.approx(1.0, rel=1e-12)


def test_bending_alone():
    """Exact: w L^2 / 8 / (b h^2 / 6) over k_mod k_sys k_h f_m / gamma_M, and 0.7 of it in (6.24)."""
    settings = Settings(k_sys=1.1, duration_wind="instantaneous")
    found = check(Stud(0.12, 0.045, 0.6, 2.7, CLASSES["C24"]), WallLoads(wind=600.0), settings)
    rows = {case.check: value for case, value in found.of() if case.combination == "permanent + wind"}
    stress = 1.5 * 600 * 0.6 * 2.7**2 / 8 / (0.045 * 0.12**2 / 6)
    expected = stress / (1.1 * 1.1 * 1.25**0.2 * 24e6 / 1.3)
    assert rows["buckling through the wall (6.23)"] == pytest.approx(expected, rel=1e-12)
    assert rows["buckling along the wall (6.24)"] == pytest.approx(0.7 * expected, rel=1e-12)
    assert "lateral-torsional buckling (6.35)" not in rows


def test_shear():
    """(6.13), exact: 1.5 V / (0.67 b h) over k_mod f_v / gamma_M; k_sys does not raise it."""
    found = check(Stud(0.12, 0.045, 0.6, 2.7, CLASSES["C24"]), WallLoads(wind=600.0), Settings(k_sys=1.1))
    rows = {case.check: value for case, value in found.of() if case.combination == "permanent + wind"}
    stress = 1.5 * (1.5 * 600 * 0.6 * 2.7 / 2) / (0.67 * 0.045 * 0.12)
    assert rows["shear"] == pytest.approx(stress / (0.9 * 4.0e6 / 1.3), rel=1e-12)


def test_a_stud_held_at_mid_height_buckles_along_the_wall_as_one_of_half_the_length():
    """Exact."""
    c24 = timber(["C24"])
    half = check(Stud(0.145, 0.045, 0.6, 1.5, c24, restrained=False), WallLoads(1e3))
    held = check(Stud(0.145, 0.045, 0.6, 3.0, c24, restrained=False, length_along=1.5), WallLoads(1e3))
    assert held.k_c_z == pytest.approx(half.k_c_z, rel=1e-12)
    assert held.k_c_y < half.k_c_y
