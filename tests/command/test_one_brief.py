"""One brief judges every wall: a wall of the front is the same wall as a file, in the command and in the explorer."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
import tiny_study
import tomli_w
import toy_space as small
from called import told_once

from dashboard.workspace import Workspace
from optimiser.search.study import FIGURES, Study, open_study

OWN_VALUES = [  # products that are not what the catalogue says of their material
    row.replace("wf-60,wood fibre 60,wood-fibre-board,Toy Boards,60,,21.80,m2,EUR,,", "wf-60,wood fibre 60,"
                "wood-fibre-board,Toy Boards,60,,21.80,m2,EUR,0.044,")
    for row in small.PRODUCTS
]  # fmt: skip
HARD = small.SOUND | {
    "climate": small.COLD | {"indoor_temperature_c": 19, "surface_r_inside": 0.12},
    "corrections": {
        "air_gap_level": 1,
        "air_gap_layer": "outer frame",
        "fastener": [{"layer": "outer board", "number_per_m2": 4, "conductivity_w_mk": 17, "diameter_mm": 5}],
    },
    "house": {"length_m": 10.0, "width_m": 8.0, "storey_height_m": 2.75},
    "operation": {"heat_source": "heat pump"},
}
STATED = ("conditions", "loads", "corrections", "framing")  # what a wall of one's own leaves to the brief


def stripped(text: str) -> str:
    """A build-up file without what it says of climate, loads, corrections and framing."""
    keep, kept = [], True
    for line in text.splitlines():
        if line.startswith("["):
            kept = line.strip("[]").split(".")[0] not in STATED
        keep += [line] if kept else []
    return "\n".join(keep) + "\n"


@pytest.fixture(scope="module")
def front(tmp_path_factory) -> Study:
    folder = tmp_path_factory.mktemp("front")
    moisture = {"moisture": {"max_condensate_g_m2": 400, "mould_inside": "shown"}}
    changes = tiny_study.BRIEF | HARD | moisture | {"checks": {"fill": True}, "target": {"u_value": 0.13}}
    changes["slots"] = changes["slots"] | {"outer board": {"lock": "wf-60"}, "wind-tight layer": {"lock": "none"}}
    brief = small.brief_in(folder, [*OWN_VALUES, tiny_study.TWIN], **changes)
    outcome = tiny_study.search(brief, folder)
    tiny_study.save(outcome, folder, folder / "study")
    return open_study(folder / "study")


def test_every_wall_of_a_front_is_judged_alike_as_a_file(front, wallfront, tmp_path):
    space = Workspace(front.folder, tmp_path / "runs")
    assert len(front.rows) > 5
    for row in front.rows:
        whole = (front.folder / "buildups" / f"{row['id']}.toml").read_text()
        shown = space.wall(None, row["id"])
        for text in (whole, stripped(whole)):
            path = tmp_path / "mine.toml"
            path.write_text(text)
            told = json.loads(wallfront("check", path, "--brief", front.folder / "brief.toml", "--json").out)
            own = space.own_wall(text, "mine", None)
            assert own.as_json() == shown.as_json() == {key: told[key] for key in own.as_json()}
            for key in FIGURES[:6]:
                figure = told["heat"]["u_value"] if key == "u_value" else told[key]
                assert figure == pytest.approx(row[key], rel=1e-7), (row["id"], key)
        assert "shipped climate" not in json.dumps(told) and told["strength"]["passes"] is not None
    plain = json.loads(wallfront("check", path, "--json").out)  # the stripped one by itself: another verdict
    assert plain["moisture"] != told["moisture"] and plain["strength"]["passes"] is None


def as_written_by_hand(wall: dict) -> dict:
    """A build-up of a search as a person would write it: catalogue's materials and the products' keys, no values."""
    listed = {row.split(",")[0]: row.split(",")[2] for row in [*OWN_VALUES, tiny_study.TWIN]}
    for layer in wall["layer"]:
        for part in (layer, layer.get("frame"), layer.get("tie")):
            if part and part.get("product"):
                key = part["product"]
                part["material"] = listed[key if isinstance(key, str) else key[0]]
    return {key: each for key, each in wall.items() if key not in ("materials", *STATED)}


def test_products_alone_make_the_wall_of_the_front(front, wallfront, tmp_path):
    own = {"t-145", "wf-60", "f-gw"}  # of other values than the catalogue's, blown into one void of several layers
    for row in front.rows:
        place = front.folder / "buildups" / f"{row['id']}.toml"
        wall = as_written_by_hand(tomllib.loads(place.read_text()))
        (tmp_path / "mine.toml").write_text(tomli_w.dumps(wall))
        told = [
            json.loads(wallfront("check", path, "--brief", front.folder / "brief.toml", "--json").out)
            for path in (tmp_path / "mine.toml", place)
        ]
        assert told[0] == told[1]
        if row["gap fill"]:
            own -= {row["outer fill"], row["outer board"], row["outer frame"].split(" ")[0]}
    assert not own


def test_what_the_file_states_goes_before_the_brief(front, wallfront, tmp_path):
    wall = stripped((front.folder / "buildups" / f"{front.rows[0]['id']}.toml").read_text())
    brief = front.folder / "brief.toml"

    def judged(text: str) -> dict:
        (tmp_path / "mine.toml").write_text(wall + text)
        return json.loads(wallfront("check", tmp_path / "mine.toml", "--brief", brief, "--json").out)

    asked = judged("")
    warm = judged(f"[conditions]\noutdoor_temperature_c = {[12] * 12}\noutdoor_rh_percent = {[70] * 12}\n")
    assert warm["heat"] == asked["heat"]  # Rsi is still the brief's
    assert warm["moisture"] != asked["moisture"]
    assert judged("[conditions]\nsurface_r_inside = 0.2\n")["heat"]["r_si"] == 0.2
    light = judged("[loads]\nheight_mm = 2700\npermanent_kn_m = 1.0\n")["strength"]
    assert light["utilisation"] < asked["strength"]["utilisation"]
    assert judged("[corrections]\n")["heat"]["correction"] == 0 < asked["heat"]["correction"]


SHORT = """name = "mine"
outside = "vented"
[[layer]]
role = "outer board"
material = "wood-fibre-board"
thickness_mm = {board}
{product}
[[layer]]
role = "outer frame"
material = "{fill}"
thickness_mm = {depth}
{filled}
frame = {{ material = "softwood-c24", width_mm = 45, spacing_mm = 600{stud} }}
"""
USUAL = {"board": 60, "product": "", "fill": "hemp-batt", "depth": 145, "filled": "", "stud": ""}


@pytest.fixture(scope="module")
def asked(tmp_path_factory) -> Path:
    """A brief whose wood-fibre board of 60 mm and hemp batts have conductivities and carbon of their own."""
    return small.write_brief(tmp_path_factory.mktemp("asked"), OWN_VALUES, **HARD)


def test_a_product_brings_its_conductivity_and_its_declaration(wallfront, tmp_path, asked):
    def judged(text: str) -> dict:
        (tmp_path / "mine.toml").write_text(text)
        found = wallfront("check", tmp_path / "mine.toml", "--brief", asked, "--json", "--numeric")
        return json.loads(found.out)

    plain, bought = judged(SHORT.format(**USUAL)), judged(SHORT.format(**USUAL | {"product": 'product = "wf-60"'}))
    batts = judged(SHORT.format(**USUAL | {"depth": 150, "filled": 'product = ["h-50", "h-50", "h-50"]'}))
    assert bought["layers"][0]["resistance_m2k_w"] == pytest.approx(0.06 / 0.044)
    assert bought["layers"][0]["carbon_kgco2e_m2"] != plain["layers"][0]["carbon_kgco2e_m2"]
    assert bought["numeric"]["u_value"] < plain["numeric"]["u_value"] and bought["heat"]["u_value"] < 0.5
    unbought = judged(SHORT.format(**USUAL | {"depth": 150}))
    assert batts["heat"]["u_value"] > unbought["heat"]["u_value"]  # 0.042 is more than the catalogue's
    stated = '[materials.board]\nlike = "wood-fibre-board"\nconductivity_w_mk = 0.06\n'
    mixed = SHORT.format(**USUAL | {"product": 'product = "wf-60"'}).replace("wood-fibre-board", "board", 1)
    own = judged(mixed + stated)  # what the file states of its own material stands, the rest is the product's
    assert own["layers"][0]["resistance_m2k_w"] == pytest.approx(1.0)
    assert own["layers"][0]["carbon_kgco2e_m2"] == bought["layers"][0]["carbon_kgco2e_m2"]


@pytest.mark.parametrize(
    ("changes", "place", "words"),
    [
        ({"stud": ', product = "o-12"'}, "layer 2 (outer frame), frame", "cannot stand here"),
        ({"stud": ', product = "t-95"'}, "layer 2 (outer frame), frame", '"softwood-c16", the layer of "softwood-c24"'),
        ({"stud": ', product = "t-195"', "depth": 300}, "layer 2 (outer frame), frame", "195 mm where thickness_mm"),
        ({"product": 'product = "p-12"'}, "layer 1 (outer board)", "is made for lining"),
        ({"product": 'product = "wf-22"'}, "layer 1 (outer board)", "is 22 mm thick in a layer of thickness_mm = 60"),
        ({"filled": 'product = "h-50"'}, "layer 2 (outer frame)", "is 50 mm thick in a layer of thickness_mm = 145"),
        ({"filled": 'product = ["h-50", "h-60"]'}, "layer 2 (outer frame)", "is 50 + 60 = 110 mm"),
        ({"filled": 'product = "f-cel"'}, "layer 2 (outer frame)", 'of material "blown-cellulose"'),
        ({"filled": 'product = "o-12"'}, "layer 2 (outer frame)", "cannot stand here"),
        ({"fill": "air", "filled": 'product = "f-cel"'}, "layer 2 (outer frame)", "nothing is bought"),
    ],
)
def test_a_product_that_cannot_stand_there_is_refused(wallfront, tmp_path, asked, changes, place, words):
    (tmp_path / "mine.toml").write_text(SHORT.format(**USUAL | changes))
    message = told_once(wallfront("check", tmp_path / "mine.toml", "--brief", asked))
    assert f"mine.toml: {place}: product" in message and words in message


def test_what_a_brief_asks_is_told_and_what_it_leaves_off_does_not_fail(wallfront, tmp_path, asked):
    path = tmp_path / "mine.toml"
    path.write_text(SHORT.format(**USUAL))
    sound = wallfront("check", path, "--brief", asked, "--json")
    told = json.loads(sound.out)["brief"]
    assert told["target"] == 0.11 and told["meets_target"] is False
    assert told["floor_area_lost_m2"] == pytest.approx(7.2119)
    assert sound.code == 1 and "fails the check of moisture\n" in sound.err
    off = asked.with_name("off.toml")
    off.write_text(asked.read_text().replace("moisture = true", "moisture = false"))
    found = wallfront("check", path, "--brief", off)
    assert "misses the target of 0.11 W/m2K" in found.out
    assert "would fail the check of moisture, which the brief leaves off" in found.err
