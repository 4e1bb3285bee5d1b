"""Biogenic carbon of wood: EN 16449, the formula and the catalogue's stored carbon."""

import pytest

from materials.catalogue import load_catalogue
from materials.wood_carbon import biogenic_carbon
from optimiser.score.embodied_carbon import modules_per_kg
from optimiser.score.settings import CarbonDemand, Transport

CATALOGUE = load_catalogue()
SOLID_WOOD = (
    "softwood-c16",
    "softwood-c24",
    "softwood-batten",
    "larch-batten",
    "diagonal-boarding",
    "softwood-lining",
    "softwood-cladding",
    "larch-cladding",
    "wood-shingles",
)


def test_worked_example():
    """1 m3 at 500 kg/m3 and 12 %: 818.45 kg CO2, 1.637 kg per kg (exact)."""
    assert biogenic_carbon(500, 12) == pytest.approx(818.45, abs=0.005)
    assert biogenic_carbon(500, 12) / 500 == pytest.approx(1.637, abs=0.0005)


def test_dry_wood_is_half_carbon():
    """44/12 x 0.5 = 1.8333 kg CO2 per kg of dry wood (exact)."""
    assert biogenic_carbon(1, 0) == pytest.approx(11 / 6, rel=1e-12)


def test_pure_cellulose():
    """(C6H10O5)n is 72.066/162.141 = 44.45 % carbon: 1.63 kg CO2 per kg (exact)."""
    assert biogenic_carbon(1, 0, 72.066 / 162.141) == pytest.approx(1.63, abs=0.005)


def test_public_record_of_structural_timber():
    """German public database (DE, second-hand): -806 kg CO2 per m3 at 493 kg/m3, 12 % moisture."""
    assert biogenic_carbon(493, 12) == pytest.approx(806, rel=0.002)


def test_solid_wood_in_the_catalogue_follows_the_formula():
    """The catalogue refuses wood of this source with another figure (tests/materials): this is the wood that has it."""
    named = [key for key, each in CATALOGUE.materials.items() if each.sources.get("biogenic_kgco2e_kg") == "en-16449"]
    assert sorted(named) == sorted(SOLID_WOOD)
    stored = {key: CATALOGUE.get(key).biogenic_kgco2e_kg for key in named}
    assert stored == pytest.approx(dict.fromkeys(SOLID_WOOD, -biogenic_carbon(1, 12)), abs=0.005)


def test_nothing_stores_more_than_wood_at_5_percent():
    """No wood product in use is drier than about 5 %; other fibres carry less carbon than wood."""
    stored = {key: -(material.biogenic_kgco2e_kg or 0.0) for key, material in CATALOGUE.materials.items()}
    assert not {key: value for key, value in stored.items() if not 0 <= value <= biogenic_carbon(1, 5)}


def test_blown_cellulose_stores_less_than_pure_cellulose():
    """Salts, water and ash store nothing: 1.0 to 1.4; a thesis: .404 kg C/kg = 1.48 (second-hand)."""
    stored = -CATALOGUE.get("blown-cellulose").biogenic_kgco2e_kg
    assert 1.0 <= stored <= biogenic_carbon(1, 0, 0.404) + 0.005


def test_a_cubic_metre_of_wood_lets_out_what_it_took_up():
    """EN 16449 for what goes in, EN 15804+A2 for +1 at the end: the same by volume, rounded as the catalogue is."""
    for material in map(CATALOGUE.get, SOLID_WOOD):
        values = modules_per_kg(material, CarbonDemand(), Transport()).values
        density = material.density_kg_m3
        let_out = values["C3"].biogenic * density
        assert let_out == pytest.approx(biogenic_carbon(density, 12), rel=0.003), material.key


@pytest.mark.parametrize("values", [(0, 12), (-500, 12), (500, -1), (500, 12, 0), (500, 12, 1.1)])
def test_impossible_wood_is_refused(values):
    with pytest.raises(ValueError, match="expected a density above 0"):
        biogenic_carbon(*values)
