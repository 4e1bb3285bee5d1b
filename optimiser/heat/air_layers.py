"""Air layers and surfaces: ISO 6946, annexes on surface resistances and on airspaces."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

STEFAN_BOLTZMANN = 5.67e-8  # W/m2K4
CONVECTION = {"up": 5.0, "horizontal": 2.5, "down": 0.7}  # W/m2K at inner surfaces, by direction of the heat flow
WIND = 4.0  # m/s at outer surfaces
DIRECTION = {"wall": "horizontal", "roof": "up", "floor": "down"}
DEEPEST_AIR_LAYER = 0.3  # m; deeper spaces need a heat balance


def radiative_coefficient(temperature_c: ArrayLike = 10.0) -> NDArray:
    """Radiative coefficient of a black surface, h_r0 = 4 sigma T^3 [W/m2K], at a mean temperature [degrees C]."""
    return 4 * STEFAN_BOLTZMANN * (np.asarray(temperature_c, float) + 273.15) ** 3


def surface_resistance(convective: ArrayLike, emissivity: ArrayLike = 0.9, temperature_c: ArrayLike = 20.0) -> NDArray:
    """Surface resistance 1 / (h_c + eps h_r0) [m2K/W].

    h_c [W/m2K]: inside `CONVECTION`; outside 4 + 4 v at a wind speed v [m/s]. Source: ISO 6946, annex on surface
    resistances.
    """
    return 1.0 / (np.asarray(convective, float) + np.asarray(emissivity, float) * radiative_coefficient(temperature_c))


# m2K/W, to two decimals as the standard prints them: inside at 20 C by direction of the heat flow, outside at 10 C.
R_SI = {direction: round(float(surface_resistance(each)), 2) for direction, each in CONVECTION.items()}
R_SE = round(float(surface_resistance(4.0 + 4.0 * WIND, temperature_c=10.0)), 2)


def unventilated(thickness: ArrayLike, direction: str = "horizontal", emissivities: tuple = (0.9, 0.9)) -> NDArray:
    """Thermal resistance of an unventilated air layer [m2K/W].

    R = 1 / (h_a + E h_r0); h_r0 at 10 C; E = 1 / (1/e1 + 1/e2 - 1); h_a = max(1.25, .025/d) horizontal,
    max(1.95, .025/d) up, max(.12 d^-.44, .025/d) down.

    thickness: d [m], any shape; 0 gives 0. Valid to 0.3 m. The rounded values are those of the standard's table.
    Source: ISO 6946, airspaces.
    """
    d = np.asarray(thickness, float)
    safe = np.where(d > 0, d, 1.0)
    conduction = 0.025 / safe
    if direction == "horizontal":
        convection = np.maximum(1.25, conduction)
    elif direction == "up":
        convection = np.maximum(1.95, conduction)
    else:
        convection = np.maximum(0.12 * safe**-0.44, conduction)
    one, two = emissivities
    exchange = 1.0 / (1.0 / one + 1.0 / two - 1.0)
    return np.where(d > 0, 1.0 / (convection + exchange * radiative_coefficient(10.0)), 0.0)


def ventilated_share(opening: ArrayLike) -> NDArray:
    """How far a slightly ventilated layer counts as well ventilated: (Av - 500) / 1000, held to 0..1.

    opening: Av [mm2 per m of length]. Source: ISO 6946, slightly ventilated air layers.
    """
    return np.clip((np.asarray(opening, float) - 500.0) / 1000.0, 0.0, 1.0)
