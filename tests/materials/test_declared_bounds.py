"""What a declaration says per kg is held to what anything in a wall can have (a bound on slips, not on products)."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from materials.models import Declaration


@pytest.mark.parametrize("part", ["fossil", "biogenic", "land_use"])
@pytest.mark.parametrize("value", [1e308, -2e4])
def test_carbon_per_kg_beyond_all_materials_is_refused(part, value):
    modules = {"A1-A3": {"fossil": 1.0}, "C3": {part: value}}
    with pytest.raises(ValidationError, match=r"C3: expected kgCO2e per kg, from -10000 to 10000"):
        Declaration(key="d", source="drawn for this test", modules=modules)
    assert Declaration(key="d", source="drawn for this test", modules=modules | {"C3": {part: 9e3}})
