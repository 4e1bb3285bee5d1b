"""The plot as data: order of drawing, ids, axes that say what they are, labels that hide nothing."""

from __future__ import annotations

import random

import pytest

from dashboard.figures import EDGES, FRONT, OTHERS, RING, Look, chosen_patch, colour_words, front_figure
from dashboard.place_labels import CHARACTER, LINE, place

FAINT, OWN = 3, 4
ROWS = [
    {
        "id": f"W-{number:03d}",
        "target": 0.105,
        "thickness_mm": 400 + 10 * number,
        "cost_per_m2": 200 - 3 * number,
        "carbon_kgco2e_m2": 40 - number,
        "u_value": 0.104,
        "weight_kg_m2": 50 + number,
        "floor_area_lost_m2": 25 + number / 10,
    }
    for number in range(12)
]
CLOUD = {"thickness_mm": [450.0] * 5000, "carbon_kgco2e_m2": [50.0] * 5000}


def test_the_front_is_drawn_over_all_that_a_pointer_meets_with_ids_as_lists():
    data = front_figure(ROWS, ROWS, CLOUD, Look())["data"]
    assert all(each["hoverinfo"] == "skip" for each in data[FRONT + 1 :])
    last = data[FRONT]
    assert last["ids"] == [each["id"] for each in ROWS]
    assert isinstance(last["customdata"], list)
    assert last["x"] == [each["thickness_mm"] for each in ROWS]
    assert last["marker"]["colorscale"] == "Cividis"


def test_the_cloud_is_thinned_and_never_under_the_pointer():
    cloud = front_figure(ROWS, ROWS, CLOUD, Look())["data"][0]
    assert 0 < len(cloud["x"]) <= 1000
    assert cloud["hoverinfo"] == "skip"
    assert front_figure(ROWS, ROWS, CLOUD, Look(y="floor_area_lost_m2"))["data"][0]["x"] == []


def test_what_the_sliders_leave_out_stays_hollow_and_the_axes_hold_still():
    whole, part = (front_figure(ROWS, rows, {}, Look()) for rows in (ROWS, ROWS[:3]))
    assert len(part["data"][FAINT]["x"]) == 9
    assert len(part["data"][FRONT]["x"]) == 3
    assert part["layout"]["xaxis"]["range"] == whole["layout"]["xaxis"]["range"]


def test_the_chosen_wall_is_ringed():
    figure = front_figure(ROWS, ROWS, {}, Look(), "W-003")
    assert figure["data"][RING]["x"] == [430]
    assert chosen_patch(ROWS, None, "W-004", Look()) == {"x": [440], "y": [36]}
    assert chosen_patch(ROWS, None, "nobody", Look()) == {"x": [], "y": []}


def test_axes_say_what_they_show_and_where_they_start():
    layout = front_figure(ROWS, ROWS, {}, Look())["layout"]
    assert layout["xaxis"]["title"]["text"] == "wall thickness, mm (not from zero)"
    near = [each | {"carbon_kgco2e_m2": number + 0.5} for number, each in enumerate(ROWS)]
    layout = front_figure(near, near, {}, Look())["layout"]
    assert layout["yaxis"]["range"][0] == 0
    assert "not from zero" not in layout["yaxis"]["title"]["text"]
    layout = front_figure(ROWS, ROWS, {}, Look(log=("y",)))["layout"]
    assert layout["yaxis"]["type"] == "log"
    assert "(logarithmic)" in layout["yaxis"]["title"]["text"]


def test_the_walls_that_stand_out_are_labelled():
    words = {each["text"] for each in front_figure(ROWS, ROWS, {}, Look())["layout"]["annotations"]}
    assert {"thinnest", "cheapest · lowest carbon", "most balanced"} == words


def test_ones_own_wall_joins_the_plot_if_it_has_both_figures():
    mine = ROWS[0] | {"id": "mine", "thickness_mm": 700}
    figure = front_figure(ROWS, ROWS, {}, Look(), "mine", mine)
    assert figure["data"][OWN]["x"] == [700]
    assert figure["data"][RING]["x"] == [700]
    assert figure["layout"]["xaxis"]["range"][1] > 700
    unpriced = mine | {"cost_per_m2": None}
    assert front_figure(ROWS, ROWS, {}, Look(y="cost_per_m2"), None, unpriced)["data"][OWN]["x"] == []


def test_an_empty_front_has_no_axes():
    layout = front_figure([], [], {}, Look())["layout"]
    assert layout["xaxis"]["visible"] is False


def test_one_wall_alone_can_be_plotted():
    for log in ((), ("x", "y")):
        low, high = front_figure(ROWS[:1], ROWS[:1], {}, Look(log=log))["layout"]["xaxis"]["range"]
        assert low < high


def test_dark_points_are_ringed_on_dark_paper():
    rings = front_figure(ROWS, ROWS, {}, Look(theme="dark"))["data"][FRONT]["marker"]["line"]["color"]
    assert len(rings) == len(ROWS)
    assert len(set(rings)) == 2


def test_the_colour_scale_in_words():
    assert colour_words(ROWS, "cost_per_m2", "EUR") == "(€167 dark to €200 light)"
    assert colour_words(ROWS, "carbon_kgco2e_m2", "EUR") == "(29.0 dark to 40.0 light, kgCO₂e/m²)"
    assert colour_words([], "cost_per_m2", "EUR") == ""


@pytest.mark.parametrize("seed", range(5))
def test_labels_never_lie_over_a_point_or_each_other(seed):
    chance = random.Random(seed)
    size = (700, 320)
    points = [(chance.uniform(20, 680), 280 - 200 * chance.random() ** 2) for _ in range(60)]
    wanted = [(*points[0], "thinnest"), (*points[1], "cheapest · most balanced"), (*points[2], "lowest carbon")]
    placed = place(points, wanted, size)
    boxes = []
    for (x, y, words), at in zip(wanted, placed, strict=True):
        half, cx, cy = CHARACTER * len(words) / 2, x + at.dx, y + at.dy
        assert not [p for p in points if abs(p[0] - cx) < half and abs(p[1] - cy) < LINE / 2]
        assert 0 <= cx - half <= cx + half <= size[0]
        assert all(abs(cx - bx) > half + bh or abs(cy - by) > LINE for bx, by, bh in boxes)
        boxes.append((cx, cy, half))


def test_a_family_of_fronts_shares_axes_and_is_labelled_directly():
    looser = [row | {"id": f"X-{n}", "target": 0.15, "thickness_mm": 300 + 10 * n} for n, row in enumerate(ROWS)]
    figure = front_figure(ROWS, ROWS, {}, Look(), others=looser)
    assert figure["data"][OTHERS]["ids"] == [row["id"] for row in looser]
    assert figure["data"][OTHERS]["marker"]["size"] < figure["data"][FRONT]["marker"]["size"]
    assert "U 0.15" in figure["data"][OTHERS]["text"][0]
    assert figure["data"][EDGES]["x"].count(None) == 2
    assert {"U 0.15", "U 0.105"} <= {each["text"] for each in figure["layout"]["annotations"]}
    low, high = figure["layout"]["xaxis"]["range"]
    assert low < 300 and high > 510
    other_way = front_figure(looser, looser, {}, Look(), others=ROWS)
    assert other_way["layout"]["xaxis"]["range"] == [low, high]


def test_one_target_alone_is_no_family():
    figure = front_figure(ROWS, ROWS, {}, Look())
    assert figure["data"][OTHERS]["x"] == figure["data"][EDGES]["x"] == []
    looser = [row | {"target": 0.15} for row in ROWS]
    no_edge = front_figure(ROWS, ROWS, {}, Look(y="u_value"), others=looser)
    assert no_edge["data"][EDGES]["x"] == []
