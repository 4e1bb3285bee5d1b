"""Blown fill: common practice among installers (memory, +-5 kg/m3); no standard.

A public fact sheet gives 3.5 lb/ft3 in closed wall cavities, a public page the same and about one 30-lb bag for three
bays of a low wall (seen).
"""

import pytest

from materials.catalogue import load_catalogue
from optimiser.fill.practice import COMMON, Practice, needs

CELLULOSE = load_catalogue().get("blown-cellulose")
LB_FT3 = 16.0185  # kg/m3
DENSITY = [(120, 48, 50), (200, 50, 54), (300, 54, 58), (400, 57, 63), (500, 60, 65)]  # depth mm, from, to (memory)


@pytest.mark.parametrize(("depth_mm", "low", "high"), DENSITY)
def test_density_by_depth(depth_mm, low, high):
    """Walls up to 3 m high (memory)."""
    own = CELLULOSE.installed_density(depth_mm)
    found = needs(depth_mm / 1000, 0.1, 2.7, 0.555, own)
    assert low <= found.density[0] <= high
    assert found.chambers[0] == 1


def test_amount():
    """300 mm at 55 kg/m3 with 85 % void: 14.025 kg/m2, 14.03 rounded (exact)."""
    found = needs(0.3, 0.3 * 0.85, 2.7, 0.555, 55.0)
    assert found.kg_m2[0] == pytest.approx(14.025, rel=1e-12)
    assert found.bags_m2[0] == pytest.approx(14.025 / COMMON.bag_mass, rel=1e-12)


def test_public_fact_sheet():
    """3.5 lb/ft3 = 56 kg/m3 in closed wall cavities (seen): ours within the 5 kg/m3 of practice, 140 to 300 mm."""
    for depth_mm in (140, 200, 240, 300):
        assert CELLULOSE.installed_density(depth_mm) == pytest.approx(3.5 * LB_FT3, abs=5)


def test_one_bag_fills_about_three_bays():
    """Seen: one 30-lb bag (13.6 kg) for three bays of an 8 ft wall, 2 x 4 in studs (38 x 89 mm) at 16 in."""
    volume = 0.089 * 0.368 / 0.406
    found = needs(0.089, volume, 2.35, 0.368, CELLULOSE.installed_density(89), Practice(bag_mass=13.6))
    assert 1 / (found.bags_m2[0] * 0.406 * 2.35) == pytest.approx(3, abs=0.75)


@pytest.mark.parametrize(("height", "chambers"), [(2.4, 1), (3.0, 1), (3.1, 2), (6.0, 2), (6.1, 3)])
def test_voids_above_3_m_are_broken_into_chambers(height, chambers):
    found = needs(0.3, 0.25, height, 0.555, 56.0)
    assert found.chambers[0] == chambers
    assert found.chamber_height[0] == pytest.approx(height / chambers)
    assert found.density[0] == 56


def test_an_unbroken_void_of_3_to_6_m_is_blown_denser():
    """+3 to 5 kg/m3 (memory)."""
    found = needs(0.3, 0.25, [3.0, 5.5], 0.555, 56.0, Practice(chamber_height=6.0))
    assert found.chambers.tolist() == [1, 1]
    assert found.density[0] == 56
    assert 3 <= found.density[1] - 56 <= 5
