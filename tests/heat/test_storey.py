"""Plates and noggings drawn in their place, and timber that has none: the stated interval holds the wall.

Held to finite elements of second order (scikit-fem) of the wall with all its timber drawn by the test itself: their
energy is never below the truth, and comes down to it as elements grow smaller (ISO 10211, the method; values computed).
"""

from __future__ import annotations

import pytest
from other_solver import conductance
from random_walls import build, plain
from test_numeric_walls import STUD

from optimiser.conduction.grid import Air, Block, Domain, Face
from optimiser.conduction.wall_cell import NumericHeat, numeric_heat
from optimiser.wall.buildup import BuildUp
from optimiser.wall.storey_framing import StoreyFraming

FEM = 2e-4  # relative: what the elements of these tests still lie above the truth, from two sizes of them
TIMBER, FILL = "m5", "m2"
LAMBDA = {"m2": 0.04, "m4": 0.09, "m5": 0.13, "m6": 0.18}
# (frame depths [mm] outside first with a gap between two, stud widths, storey height, plates, rows of noggings)
WALLS = {
    "single": ((200,), (45,), 2600, 2, 0),
    "single with noggings": ((145,), (45,), 2700, 2, 1),
    "deep single, three plates": ((300,), (45,), 2750, 3, 0),
    "twin": ((140, 100, 90), (38, 38), 2750, 3, 0),
    "twin, slender inside": ((140, 180, 63), (45, 38), 2750, 3, 0),
    "twin with noggings": ((120, 80, 95), (45, 45), 2600, 2, 1),
    "twin without a gap": ((145, 0, 95), (45, 45), 2700, 2, 0),
    "low storey": ((195,), (45,), 2200, 3, 1),
    "thick plates": ((140, 60, 90), (60, 60), 2600, 3, 0),
    "two rows": ((170,), (38,), 2750, 2, 2),
}
FEW = ("single with noggings", "twin")


def wall_of(depths, widths, height, plates, rows, framing: bool = True, further: float = 0.0) -> BuildUp:
    """Boards on both sides; all timber besides the studs is plates and noggings, and `further` has no place."""
    given = StoreyFraming(height_mm=height, plates=plates, nogging_rows=rows)
    layers = [plain("m4", 22)]
    for number, depth in enumerate(depths):
        if number == 1:
            layers += [plain(FILL, depth)] if depth else []
            continue
        width = widths[min(number, 1)]
        extra = given.share(width, STUD["spacing_mm"]) + further
        layers.append(plain(FILL, depth, frame=STUD | {"width_mm": width, "extra_fraction": extra}))
    return build([*layers, plain("m6", 12)], framing=given if framing else None)


def drawn(wall: BuildUp) -> tuple[Domain, float]:
    """Half a bay of the wall, as high as its storey, every stud, plate and nogging a block; and its face [m2]."""
    framing = wall.framing
    height, length, depth, blocks = framing.height_mm / 1000, STUD["spacing_mm"] / 2000, 0.0, []
    for layer in wall.layers:
        ends = depth, depth + layer.thickness_mm / 1000
        blocks.append(Block("fill", (0.0, ends[0], 0.0), (height, ends[1], length), LAMBDA[layer.material]))
        if layer.frame is not None:
            wide = layer.frame.width_mm / 1000
            clear = height - framing.plates * wide
            rows = [wide + clear * (row + 1) / (framing.nogging_rows + 1) for row in range(framing.nogging_rows)]
            heights = [(0.0, wide), (height - (framing.plates - 1) * wide, height)]
            heights += [(middle - wide / 2, middle + wide / 2) for middle in rows]
            pieces = [((0.0, height), (0.0, wide / 2)), *((each, (0.0, length)) for each in heights)]
            for (low, high), (left, right) in pieces:
                blocks.append(Block("timber", (low, ends[0], left), (high, ends[1], right), LAMBDA[TIMBER]))
        depth = ends[1]
    airs, faces = (Air(0.0, 0.04), Air(1.0, 0.13)), (Face(1, 0, 0), Face(1, 1, 1))
    return Domain((height, depth, length), tuple(blocks), airs, faces), height * length


def check(wall: BuildUp) -> NumericHeat:
    domain, face = drawn(wall)
    heat = numeric_heat(wall, tolerance=0.001)
    truth = conductance(domain, 2) / face
    assert heat.u_value - heat.u_error <= truth <= (heat.u_value + heat.u_error) * (1 + FEM)
    return heat


@pytest.mark.parametrize("name", FEW)
def test_the_wall_with_its_plates_drawn_lies_inside_the_interval(name):
    heat = check(wall_of(*WALLS[name]))
    assert heat.placed
    assert heat.u_error <= 0.01 * heat.u_value


@pytest.mark.long
@pytest.mark.parametrize("name", WALLS)
def test_so_do_ten_walls(name):
    heat = check(wall_of(*WALLS[name]))
    assert heat.placed
    assert heat.u_error <= 0.01 * heat.u_value


@pytest.mark.parametrize("name", FEW)
def test_the_same_timber_given_by_share_and_by_place_agrees_within_both_errors(name):
    placed = numeric_heat(wall_of(*WALLS[name]), tolerance=0.001)
    shared = numeric_heat(wall_of(*WALLS[name], framing=False), tolerance=0.001)
    assert placed.placed and not shared.placed
    assert abs(placed.u_value - shared.u_value) <= placed.u_error + shared.u_error
    assert placed.u_error < shared.u_error


def test_the_same_timber_given_by_share_and_as_studs_agrees_within_both_errors():
    """5 % of a frame as extra_fraction, and as studs that stand closer by as much."""
    bare = wall_of(*WALLS["single"]).model_copy(update={"framing": None})

    def with_frame(**change) -> NumericHeat:
        layer = bare.layers[1]
        frame = layer.frame.model_copy(update={"extra_fraction": 0.0} | change)
        layers = (bare.layers[0], layer.model_copy(update={"frame": frame}), bare.layers[2])
        return numeric_heat(bare.model_copy(update={"layers": layers}), tolerance=0.001)

    shared = with_frame(extra_fraction=0.05)
    studs = with_frame(spacing_mm=45 / (45 / 600 + 0.05))
    assert abs(shared.u_value - studs.u_value) <= shared.u_error + studs.u_error


def test_timber_without_a_place_widens_the_interval_and_says_so():
    placed, further = (numeric_heat(wall_of(*WALLS["twin"], further=share), tolerance=0.001) for share in (0.0, 0.03))
    assert placed.placed and not further.placed
    assert further.u_error > placed.u_error
    assert further.u_value - further.u_error >= placed.u_value - placed.u_error
    assert further.u_value > placed.u_value
