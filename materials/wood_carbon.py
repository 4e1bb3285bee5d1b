"""Carbon stored in wood."""

from __future__ import annotations

CO2_PER_CARBON = 44.0 / 12.0
IN_USE_PERCENT = 12.0  # moisture of wood as it is sold and built in


def biogenic_carbon(density_kg_m3: float, moisture_percent: float, carbon_fraction: float = 0.5) -> float:
    """CO2 stored in wood [kg CO2 per m3], as a positive number.

    Density [kg/m3] at the given moisture [% of the dry mass], carbon as a fraction of the dry mass.
    ValueError for a value that no wood can have. Source: EN 16449.
    """
    if density_kg_m3 <= 0 or moisture_percent < 0 or not 0 < carbon_fraction <= 1:
        raise ValueError("expected a density above 0, a moisture of at least 0 % and a carbon fraction from 0 to 1")
    return CO2_PER_CARBON * carbon_fraction * density_kg_m3 / (1.0 + moisture_percent / 100.0)
