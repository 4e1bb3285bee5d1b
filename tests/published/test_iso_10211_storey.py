"""ISO 10211 (the method): a twin-frame wall one storey high, its studs, plates and boards drawn, by scikit-fem.

The mesh is laid here by hand, from the millimetres of the drawing, and shares no line with the project. The heat that
finite elements let through is never below the truth and comes down to it. Values computed, not tabulated.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from skfem import Basis, BilinearForm, ElementHex2, FacetBasis, LinearForm, MeshHex, asm, solve
from skfem.helpers import dot, grad

from materials.models import Material
from optimiser.conduction.wall_cell import numeric_heat
from optimiser.wall.buildup import BuildUp
from optimiser.wall.storey_framing import StoreyFraming

RSI, RSE = 0.13, 0.04  # m2K/W, horizontal heat flow (ISO 6946, table 7)
HEIGHT, HALF_BAY = 2.75, 0.3  # m
SHEATHING, OUTER, GAP, INNER, LINING = 0.022, 0.14, 0.10, 0.09, 0.0125  # m, outside first
DEPTHS = np.cumsum([0.0, SHEATHING, OUTER, GAP, INNER, LINING])
STUD = 0.038  # m, wide; plates are of the same timber, lying flat
WOOD_FIBRE, FILL, TIMBER, BOARD = 0.049, 0.039, 0.13, 0.25  # W/(m K)
PLATES = ((0.0, STUD), (HEIGHT - 2 * STUD, HEIGHT))  # a sole plate, and a double head plate


def conductivity(up: np.ndarray, depth: np.ndarray, along: np.ndarray) -> np.ndarray:
    """At the middle of each element, read from the drawing."""
    frame = ((depth > DEPTHS[1]) & (depth < DEPTHS[2])) | ((depth > DEPTHS[3]) & (depth < DEPTHS[4]))
    timber = frame & ((along < STUD / 2) | (up < PLATES[0][1]) | (up > PLATES[1][0]))
    return np.select([depth < DEPTHS[1], depth > DEPTHS[4], timber], [WOOD_FIBRE, BOARD, TIMBER], FILL)


def cut(stops: list[float], pieces: int) -> np.ndarray:
    """Each stretch in pieces that shrink towards its ends, where heat crowds."""
    at = (1 - np.cos(np.pi * np.arange(pieces) / pieces)) / 2
    rows = [low + (high - low) * at for low, high in pairwise(stops)]
    return np.concatenate([*rows, [stops[-1]]])


def transmittance(pieces: int) -> float:
    """U of the drawn wall [W/(m2 K)] by the energy of elements of second order."""
    up = cut([0.0, PLATES[0][1], *PLATES[1]], pieces)
    mesh = MeshHex.init_tensor(up, cut(list(DEPTHS), pieces), cut([0.0, STUD / 2, HALF_BAY], pieces))
    basis = Basis(mesh, ElementHex2())
    k = np.broadcast_to(conductivity(*mesh.p[:, mesh.t].mean(axis=1))[:, None], basis.dx.shape)
    matrix = asm(BilinearForm(lambda u, v, w: w.k * dot(grad(u), grad(v))), basis, k=k)
    load = np.zeros(matrix.shape[0])
    for at, resistance, warm in ((0.0, RSE, 0.0), (DEPTHS[-1], RSI, 1.0)):
        facets = mesh.facets_satisfying(lambda x, at=at: np.isclose(x[1], at))
        side = FacetBasis(mesh, basis.elem, facets=facets)
        matrix = matrix + asm(BilinearForm(lambda u, v, w, r=resistance: u * v / r), side)
        load = load + asm(LinearForm(lambda v, w, q=warm / resistance: q * v), side)
    # With 0 K outside and 1 K inside, the heat that enters is what the warm air gives: (1 - T) / Rsi over its face.
    temperature = solve(matrix, load)
    area = HEIGHT * HALF_BAY
    return (area / RSI - float(load @ temperature)) / area


def wall() -> BuildUp:
    framing = StoreyFraming(height_mm=HEIGHT * 1000, plates=3)
    width, spacing = STUD * 1000, HALF_BAY * 2000
    frame = {"material": "timber", "width_mm": width, "spacing_mm": spacing}
    frame["extra_fraction"] = framing.share(width, spacing)
    values = {"wood-fibre": WOOD_FIBRE, "fill": FILL, "timber": TIMBER, "board": BOARD}
    stack = (
        ("wood-fibre", SHEATHING, None),
        ("fill", OUTER, frame),
        ("fill", GAP, None),
        ("fill", INNER, frame),
        ("board", LINING, None),
    )
    return BuildUp(
        name="twin frame",
        outside="exposed",
        materials={key: Material(key=key, name=key, conductivity_w_mk=value) for key, value in values.items()},
        layer=[{"role": "layer", "material": key, "thickness_mm": d * 1000, "frame": f} for key, d, f in stack],
        framing=framing,
    )


@pytest.fixture(scope="module")
def truth() -> tuple[float, float]:
    """From below and above: the elements come down to the truth, by about as much again as the last step at most."""
    coarse, fine = transmittance(2), transmittance(3)
    assert fine <= coarse
    return fine - (coarse - fine), fine


def test_the_drawn_wall_lies_inside_the_stated_interval(truth):
    heat = numeric_heat(wall(), tolerance=0.001)
    assert heat.placed
    assert heat.u_value - heat.u_error <= truth[1]
    assert truth[0] <= heat.u_value + heat.u_error


def test_the_stated_half_width_is_at_most_one_per_cent(truth):
    heat = numeric_heat(wall(), tolerance=0.001)
    assert heat.u_error <= 0.01 * heat.u_value
    assert abs(heat.u_value - truth[1]) <= 0.01 * truth[1]


def test_the_plates_are_told_apart_from_a_wall_without(truth):
    """The check bites: the same wall without its plates lies below the interval that holds it."""
    bare = wall().model_copy(update={"framing": None})
    layers = [
        each.model_copy(update={"frame": each.frame and each.frame.model_copy(update={"extra_fraction": 0.0})})
        for each in bare.layers
    ]
    heat = numeric_heat(bare.model_copy(update={"layers": tuple(layers)}), tolerance=0.001)
    assert heat.u_value + heat.u_error < truth[0]
