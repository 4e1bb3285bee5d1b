"""DIN 4108-2: the surface temperature against mould, from its well-known conditions.

Status: memory; recomputed independently, agrees to 3 digits (yes 3).
"""

from optimiser.moisture import humid_air, surface

INDOORS = humid_air.pressure_at_humidity(20.0, 0.5)


def test_dew_point_of_room_air():
    """20 C / 50 %: 9.27 C."""
    assert round(float(humid_air.dew_point(INDOORS)), 2) == 9.27


def test_surface_temperature_for_80_percent():
    """12.6 C."""
    assert round(float(humid_air.temperature_at_humidity(INDOORS, 0.8)), 1) == 12.6


def test_temperature_factor():
    """0.70 at -5 C outside."""
    assert round(float(surface.required_factor(-5.0, 20.0, INDOORS)), 2) == 0.70
