"""The plot as data: order of drawing, ids, axes that say what they are, labels that hide nothing."""

from __future__ import annotations

import random

import pytest

from dashboard.front.parallel_figure import parallel_lines
from dashboard.front.place_labels import CHARACTER, LINE, place
from dashboard.front.plot_axes import Axis, Look, axis_title, colour_words
from dashboard.front.plot_figure import EDGES, FAINT, FRONT, OTHERS, OWN, cloud_points, front_figure, hover, labels

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


def test_the_front_is_drawn_over_all_that_a_pointer_meets_with_ids_as_lists():
    data = front_figure(ROWS, ROWS, Look())["data"]
    assert all(each["hoverinfo"] == "skip" for each in data[FRONT + 1 :])
    last = data[FRONT]
    assert last["ids"] == [each["id"] for each in ROWS]
    assert isinstance(last["customdata"], list)
    assert last["x"] == [each["thickness_mm"] for each in ROWS]
    assert last["marker"]["colorscale"] == "Cividis"


def test_the_beaten_walls_lie_where_the_axes_say_each_spot_once():
    cloud = {"thickness_mm": [450.0] * 5000 + [455.0, 9000.0], "carbon_kgco2e_m2": [35.0] * 5000 + [31.0, 35.0]}
    found = cloud_points(cloud, ROWS, Look(), None, [])
    spots = found.spots
    assert len(spots) == 2  # one wall is far off the axes
    assert (found.drawn, found.off) == (5001, 1)
    assert found.words == "1 of 5,002 lies beyond the axes."
    low, high = front_figure(ROWS, ROWS, Look())["layout"]["xaxis"]["range"]
    assert spots[0][0] == pytest.approx((450 - low) / (high - low), abs=1e-4)
    assert spots[1][1] > spots[0][1]  # y runs downwards: less carbon is lower
    assert cloud_points(cloud, ROWS, Look(y="floor_area_lost_m2"), None, []).spots == []
    assert cloud_points(cloud, ROWS, Look(log=("x", "y")), None, []).spots != []
    assert cloud_points({key: each[:9] for key, each in cloud.items()}, ROWS, Look(), None, []).words == ""


def test_the_whole_front_is_always_there_over_hollow_points():
    whole, part = (front_figure(ROWS, rows, Look()) for rows in (ROWS, ROWS[:3]))
    assert part["data"] == whole["data"]
    assert len(part["data"][FAINT]["x"]) == len(part["data"][FRONT]["x"]) == len(ROWS)
    assert part["layout"]["xaxis"]["range"] == whole["layout"]["xaxis"]["range"]


def test_labels_are_those_of_the_walls_that_are_left():
    found = {each["name"]: each["text"] for each in labels(ROWS, ROWS[2:4], Look())}
    assert found == {"W-002": "thinnest", "W-003": "cheapest · lowest carbon · most balanced"}
    assert labels(ROWS, ROWS[2:4], Look()) == front_figure(ROWS, ROWS[2:4], Look())["layout"]["annotations"]
    assert labels(ROWS, [], Look()) == []


def test_axes_say_what_they_show_and_where_they_start():
    layout = front_figure(ROWS, ROWS, Look())["layout"]
    assert layout["xaxis"]["title"]["text"] == "wall thickness, mm (not from zero)"
    near = [each | {"carbon_kgco2e_m2": number + 0.5} for number, each in enumerate(ROWS)]
    layout = front_figure(near, near, Look())["layout"]
    assert layout["yaxis"]["range"][0] == 0
    assert "not from zero" not in layout["yaxis"]["title"]["text"]
    layout = front_figure(ROWS, ROWS, Look(log=("zero",)))["layout"]
    assert layout["xaxis"]["range"][0] == 0
    assert "not from zero" not in layout["xaxis"]["title"]["text"]
    layout = front_figure(ROWS, ROWS, Look(log=("y",)))["layout"]
    assert layout["yaxis"]["type"] == "log"
    assert "(logarithmic)" in layout["yaxis"]["title"]["text"]


def test_the_walls_that_stand_out_are_labelled():
    words = {each["text"] for each in front_figure(ROWS, ROWS, Look())["layout"]["annotations"]}
    assert {"thinnest", "cheapest · lowest carbon", "most balanced"} == words


def test_ones_own_wall_joins_the_plot_if_it_has_both_figures():
    mine = ROWS[0] | {"id": "mine", "thickness_mm": 700}
    figure = front_figure(ROWS, ROWS, Look(), mine)
    assert figure["data"][OWN]["x"] == [700]
    assert figure["data"][OWN]["ids"] == ["mine"]
    assert figure["layout"]["xaxis"]["range"][1] > 700
    unpriced = mine | {"cost_per_m2": None}
    assert front_figure(ROWS, ROWS, Look(y="cost_per_m2"), unpriced)["data"][OWN]["x"] == []


def test_an_empty_front_has_no_axes():
    layout = front_figure([], [], Look())["layout"]
    assert layout["xaxis"]["visible"] is False


def test_one_wall_alone_can_be_plotted():
    for log in ((), ("x", "y")):
        low, high = front_figure(ROWS[:1], ROWS[:1], Look(log=log))["layout"]["xaxis"]["range"]
        assert low < high


def luminance(colour: str) -> float:
    """Relative luminance of '#RRGGBB' (sRGB)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_every_point_stands_off_the_dark_paper_and_more_is_lighter():
    scale = front_figure(ROWS, ROWS, Look(theme="dark"))["data"][FRONT]["marker"]["colorscale"]
    light = [luminance(colour) for _, colour in scale]
    assert light == sorted(light)
    assert (light[0] + 0.05) / (luminance(Look(theme="dark").colours["paper"]) + 0.05) >= 3
    assert [at for at, _ in scale] == sorted({at for at, _ in scale} | {0.0, 1.0})


def test_a_leader_goes_round_a_neighbour_right_above_its_point():
    points = [(400, 200), (400, 192), (290, 200)]
    placed = place(points, [(400, 200, "lowest carbon")], (700, 222))[0]
    length = (placed.dx**2 + placed.dy**2) ** 0.5
    along, across = -8 * placed.dy / length, abs(8 * placed.dx) / length
    assert along <= 0 or across >= 7


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
    figure = front_figure(ROWS, ROWS, Look(), others=looser)
    assert figure["data"][OTHERS]["ids"] == [row["id"] for row in looser]
    assert figure["data"][OTHERS]["marker"]["size"] < figure["data"][FRONT]["marker"]["size"]
    assert "U 0.15" in figure["data"][OTHERS]["text"][0]
    assert figure["data"][EDGES]["x"].count(None) == 2
    assert {"U 0.15", "U 0.105"} <= {each["text"] for each in figure["layout"]["annotations"]}
    low, high = figure["layout"]["xaxis"]["range"]
    assert low < 300 and high > 510
    other_way = front_figure(looser, looser, Look(), others=ROWS)
    assert other_way["layout"]["xaxis"]["range"] == [low, high]


def test_one_target_alone_is_no_family():
    figure = front_figure(ROWS, ROWS, Look())
    assert figure["data"][OTHERS]["x"] == figure["data"][EDGES]["x"] == []
    looser = [row | {"target": 0.15} for row in ROWS]
    no_edge = front_figure(ROWS, ROWS, Look(y="u_value"), others=looser)
    assert no_edge["data"][EDGES]["x"] == []


def test_axes_name_the_modules_that_count():
    axis = Axis(10.0, 20.0, False)
    assert axis_title("carbon_kgco2e_m2", axis, Look()) == "embodied carbon A1–A3, kgCO₂e/m² (not from zero)"
    whole = Look(modules=("A1-A3", "A4", "A5", "B4", "C1", "C2", "C3", "C4"))
    assert axis_title("carbon_kgco2e_m2", axis, whole) == "carbon A1–A5, B4, C1–C4, kgCO₂e/m² (not from zero)"
    assert axis_title("cost_per_m2", axis, Look()) == "cost, €/m² (not from zero)"


def test_the_pointer_is_told_what_the_wall_is_and_its_figures():
    row = ROWS[0] | {"in_short": "9 OSB · 45×120 + 170 + 38×63 · blown glass wool · service zone 45 <b>batt</b>"}
    said = hover(row, Look())
    lines = said.split("<br>")
    assert lines[0] == "<b>W-000</b> · 9 OSB · 45×120 + 170 + 38×63 · blown glass wool"
    assert lines[1] == "service zone 45 &lt;b&gt;batt&lt;/b&gt;"
    assert lines[2] == "thickness 400 mm · carbon 40.0 kgCO₂e/m² · cost €200.0/m²"
    assert lines[3] == "U 0.1040 W/m²K"
    assert "U 0.15" in hover(row, Look(), "U 0.15")


def test_lines_cross_an_axis_for_every_figure_with_its_ends_in_words():
    apart = [row | {"floor_area_lost_m2": 40 - row["floor_area_lost_m2"]} for row in ROWS]  # thicker, and less lost
    spec = parallel_lines([*apart, apart[0] | {"id": "N", "cost_per_m2": None}], Look(x="floor_area_lost_m2"))
    assert [each["key"] for each in spec["axes"]] == [
        "floor_area_lost_m2",
        "carbon_kgco2e_m2",
        "cost_per_m2",
        "thickness_mm",
    ]
    assert [each["slider"] for each in spec["axes"]] == [False, True, True, True]
    assert spec["axes"][3]["words"] == ["400 mm", "510 mm"]
    assert spec["axes"][2]["words"] == ["€167.0/m²", "€200.0/m²"]
    assert all(0.05 < tick["at"] < 0.95 for axis in spec["axes"] for tick in axis["ticks"])
    assert all(axis["ticks"] for axis in spec["axes"])
    assert spec["ids"] == [each["id"] for each in ROWS]  # the wall without a price has no line
    assert len(spec["texts"]) == len(ROWS)
    assert spec["shares"][0] == [1.0, 1.0, 1.0, 0.0]
    assert parallel_lines(ROWS[:1], Look())["shares"] == [[0.5, 0.5, 0.5]]
    assert parallel_lines([], Look())["ids"] == []


def test_floor_that_follows_from_the_thickness_shares_its_axis():
    spec = parallel_lines(ROWS, Look(x="floor_area_lost_m2"))
    assert [each["key"] for each in spec["axes"]] == ["thickness_mm", "carbon_kgco2e_m2", "cost_per_m2"]
    assert spec["axes"][0]["name"] == "wall thickness · floor area lost"
    assert spec["axes"][0]["words"] == ["400 mm · 25.00 m²", "510 mm · 26.10 m²"]
    assert spec["axes"][0]["slider"]
    grown = [row | {"thickness_mm": 400} for row in ROWS]  # one thickness, many floors
    assert parallel_lines(grown, Look(x="floor_area_lost_m2"))["axes"][0]["key"] == "floor_area_lost_m2"
    assert "floor_area_lost_m2" not in [each["key"] for each in parallel_lines(ROWS, Look())["axes"]]
