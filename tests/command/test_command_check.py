"""`wallfront check`: the figures, the keys, and what is said of a wall or a file that won't do."""

import json
import re
import shutil
from pathlib import Path

import pytest
from called import told_once
from wall_text import framed, head, twin

WALLS = Path(__file__).parent.parent / "published" / "walls"
FRAMED = """
name = "{name}"
outside = "vented"
[[layer]]
role = "sheathing"
material = "osb"
thickness_mm = 12
[[layer]]
role = "outer frame"
material = "{fill}"
thickness_mm = {depth}
[layer.frame]
material = "softwood-c24"
width_mm = 45
spacing_mm = 600
"""


def written(folder, text=FRAMED, **values):
    path = folder / "wall.toml"
    values = {"name": "a wall", "fill": "blown-cellulose", "depth": "195"} | values
    for key, value in values.items():
        text = text.replace(f"{{{key}}}", value)
    path.write_text(text, encoding="utf-8")
    return path


# Scottish Executive building-regulations guidance, Annex 6.B.2 (path totals seen, limits own); ASHRAE Handbook of
# Fundamentals (memory), 1 h ft2 F/Btu = 0.17611 m2K/W; single 300 mm stud (own, finite elements and finite volumes).
IP = 0.17611
EXAMPLES = {
    "brick_cavity_timber_frame": {"r_upper": (3.530, 3), "r_lower": (3.418, 3), "u_value": (0.288, 3)},
    "single_300_stud": {"u_value": (0.13357, 5)},
}


@pytest.mark.parametrize(("name", "key"), [(name, key) for name, keys in EXAMPLES.items() for key in keys])
def test_worked_examples_come_out_to_their_digits(process, name, key):
    value, digits = EXAMPLES[name][key]
    found = process("check", WALLS / f"{name}.toml", "--json")
    assert found.code == 0
    assert round(json.loads(found.out)["heat"][key], digits) == value


def test_the_inch_pound_example_comes_out_in_its_own_units(wallfront):
    heat = json.loads(wallfront("check", WALLS / "wood_frame_inch_pound.toml", "--json").out)["heat"]
    assert round(1 / heat["r_upper"] * IP, 3) == 0.063  # parallel paths
    assert round(heat["r_lower"] / IP, 2) == 14.82  # isothermal planes
    assert round(1 / heat["r_lower"] * IP, 3) == 0.067


def test_json_has_the_keys_of_the_contract_and_unrounded_values(wallfront):
    found = wallfront("check", WALLS / "single_300_stud.toml", "--json")
    value = json.loads(found.out)
    assert found.err == ""
    assert {"name", "thickness_mm", "weight_kg_m2", "heat"} <= set(value)
    heat = value["heat"]
    assert {"u_value", "r_total", "r_upper", "r_lower", "r_si", "r_se", "correction"} <= set(heat)
    assert heat["r_total"] == pytest.approx((heat["r_upper"] + heat["r_lower"]) / 2, rel=1e-15)
    assert heat["u_value"] == pytest.approx(1 / heat["r_total"] + heat["correction"], rel=1e-15)
    assert len(repr(heat["u_value"])) > 12, "rounded"
    assert value["weight_kg_m2"] is None, "the file gives no density: unknown, not 0"


def test_corrections_are_in_the_u_value_and_named(wallfront, tmp_path):
    path = written(tmp_path, FRAMED + '\n[corrections]\nair_gap_level = 1\nair_gap_layer = "outer frame"\n')
    heat = json.loads(wallfront("check", path, "--json").out)["heat"]
    assert heat["correction"] > 0
    assert heat["u_value"] == pytest.approx(1 / heat["r_total"] + heat["correction"], rel=1e-15)


def test_with_a_brief_a_wall_has_a_cost(wallfront, toy, tmp_path):
    path = written(tmp_path)
    plain = json.loads(wallfront("check", path, "--json").out)
    priced = json.loads(wallfront("check", path, "--brief", toy / "brief.toml", "--json").out)
    assert plain["cost_per_m2"] is None
    assert priced["cost_per_m2"] == pytest.approx(sum(each["cost_per_m2"] for each in priced["layers"]))
    assert priced["cost_per_m2"] > 0
    assert priced["heat"] == plain["heat"]


def test_the_readable_answer_says_u_thickness_and_what_was_not_checked(wallfront, tmp_path):
    found = wallfront("check", written(tmp_path, name="north wall"))
    value = json.loads(wallfront("check", tmp_path / "wall.toml", "--json").out)
    assert found.code == 0
    assert found.err == ""
    assert "north wall" in found.out
    assert f"U {value['heat']['u_value']:.3f} W/m2K" in found.out
    assert f"R' {value['heat']['r_upper']:.3f}" in found.out
    assert "207 mm" in found.out
    assert "Fire is not checked" in found.out


@pytest.mark.parametrize("name", ["a [/bold] wall", "[red]", "50 % [wet]", "[link=x]y"])
def test_a_name_in_brackets_is_printed_as_it_is(wallfront, tmp_path, name):
    found = wallfront("check", written(tmp_path, name=name))
    assert found.code == 0
    assert name in found.out


def test_a_terminal_that_lacks_a_sign_gets_an_answer_all_the_same(process, tmp_path, monkeypatch):
    monkeypatch.setenv("PYTHONIOENCODING", "ascii")
    found = process("check", written(tmp_path))
    assert found.code == 0
    assert "W/m2K" in found.out
    assert found.err == ""


UNUSABLE = {
    "a decimal comma": ({"depth": "195,5"}, [r"wall\.toml", "line 11", r'"195,5"', "decimals with a point"]),
    "a missing material": ({"fill": "blown-celulose"}, ["layer 2", "outer frame", r'nearest: "blown-cellulose"']),
    "a negative thickness": ({"depth": "-195"}, ["layer 2", "outer frame", "thickness_mm", "-195"]),
    "a number in quotes": ({"depth": '"195"'}, ["layer 2", "thickness_mm", "without quotes"]),
    "a unit in the wrong place": ({"depth": '"195 mm"'}, ["layer 2", "thickness_mm"]),
    "metres for millimetres": ({"depth": "195000"}, ["layer 2", "thickness_mm"]),
    "not a number": ({"depth": "nan"}, ["layer 2", "thickness_mm"]),
}


@pytest.mark.parametrize(("values", "words"), UNUSABLE.values(), ids=UNUSABLE.keys())
@pytest.mark.parametrize("how", [(), ("--json",)], ids=["readable", "json"])
def test_a_file_that_cannot_be_used_says_where_and_why(wallfront, tmp_path, values, words, how):
    message = told_once(wallfront("check", written(tmp_path, **values), *how))
    for word in words:
        assert re.search(word, message), (word, message)


OTHER = {
    "an empty file": ("", "is empty"),
    "no layers": ('name = "x"\noutside = "vented"\n', "layer"),
    "an unknown key": (FRAMED.replace("spacing_mm", "spacng_mm"), 'nearest: "spacing_mm"'),
    "not TOML": ("<xml/>", "line 1"),
}


@pytest.mark.parametrize(("text", "words"), OTHER.values(), ids=OTHER.keys())
def test_a_file_of_another_kind_is_told(wallfront, tmp_path, text, words):
    assert words in told_once(wallfront("check", written(tmp_path, text)))


def test_a_file_that_is_not_there_or_no_text_is_told(wallfront, tmp_path):
    assert "no such file" in told_once(wallfront("check", "absent.toml"))
    assert "folder" in told_once(wallfront("check", tmp_path))
    (tmp_path / "wall.toml").write_bytes(b"name = \xff\xfe")
    assert "UTF-8" in told_once(wallfront("check", tmp_path / "wall.toml"))


def test_a_fault_in_the_brief_names_the_brief_not_the_wall(wallfront, tmp_path):
    (tmp_path / "brief.toml").write_text("")
    message = told_once(wallfront("check", written(tmp_path), "--brief", tmp_path / "brief.toml"))
    assert "brief.toml: the brief is empty" in message
    assert "wall.toml" not in message


METAL = head("steel across the gap", "[materials.steel]\nconductivity_w_mk = 50\ndensity_kg_m3 = 7800\n") + twin(
    "blown-cellulose",
    'tie = { material = "steel", thickness_mm = 2, height_mm = 50, vertical_spacing_mm = 1200 }\n',
)
POSTS = "[materials.post]\nconductivity_w_mk = 3.0\n[materials.straw]\nconductivity_w_mk = 0.04\n"
COARSE = head("concrete posts in straw", POSTS, outside="exposed") + framed(
    "posts", "straw", 200, "fraction = 0.1", stud="post"
)


@pytest.mark.parametrize(
    ("text", "words"), [(METAL, ["metal", "layer 2"]), (COARSE, ["R'/R''", "1.5"])], ids=["metal", "ratio"]
)
def test_a_wall_that_the_method_refuses_is_understood_but_the_answer_is_no(wallfront, tmp_path, text, words):
    path = written(tmp_path, text)
    found = wallfront("check", path, "--json")
    assert found.code == 1
    assert "Traceback" not in found.err
    heat = json.loads(found.out, parse_constant=pytest.fail)["heat"]  # NaN is no JSON
    assert heat["u_value"] is None
    assert heat["r_upper"] >= heat["r_lower"] > 0
    for said in (found.err, heat["refused"], wallfront("check", path).err):
        for word in [*words, "ISO 10211"]:
            assert word in said
    assert "none by this method" in wallfront("check", path).out


OWN = "[materials.own]\nconductivity_w_mk = 0.04\nvapour_mu = 2\ndensity_kg_m3 = 55\n"  # the contract's keys alone


def test_a_fill_of_the_files_own_is_weighed_without_saying_its_kind(wallfront, tmp_path):
    """Common practice: 300 mm at 55 kg/m3 in 85 % of the wall take 0.3 x 55 x 0.85 = 14.025 kg/m2."""
    text = head("own fill", OWN) + framed("outer frame", "own", 300, "fraction = 0.15")
    fill = json.loads(wallfront("check", written(tmp_path, text), "--json").out)["fill"]
    assert fill["kg_m2"] == pytest.approx(14.025, rel=1e-12)
    assert (fill["density_kg_m3"], fill["chambers"], fill["passes"], fill["taken_for_blown"]) == (55, 1, True, [1])


def test_what_may_be_no_fill_fails_no_check_of_fills(wallfront, tmp_path):
    """600 mm are too deep to blow; a file that says that it is blown in is told so, one that does not is not judged."""
    deep = head("deep", OWN) + framed("outer frame", "own", 600)
    silent = wallfront("check", written(tmp_path, deep), "--json")
    told = json.loads(silent.out)["fill"]
    assert silent.code == 0 and told["passes"] is None and "too deep" in told["reason"]
    said = wallfront("check", written(tmp_path, deep.replace(OWN, OWN + 'kind = "loose fill"\n')), "--json")
    assert said.code == 1 and json.loads(said.out)["fill"]["passes"] is False


def test_a_climate_that_asks_nothing_of_the_surface_gives_json_all_the_same(wallfront, tmp_path):
    """As warm outside as inside in every month: there is no least f_Rsi, and JSON knows no infinity."""
    warm = f"[conditions]\nindoor_temperature_c = 20\noutdoor_temperature_c = {[24] * 12}\n"
    warm += f"outdoor_rh_percent = {[60] * 12}\n"
    path = written(tmp_path, head("warm") + framed("outer frame", "blown-cellulose", 195) + warm)
    found = wallfront("check", path, "--json")
    wet = json.loads(found.out, parse_constant=lambda word: pytest.fail(f"{word} is no JSON"))["moisture"]
    assert wet["f_rsi_required"] is None and wet["margins"]["surface"] is None
    assert "no month asks for any" in wallfront("check", path).out.replace("\n", " ")
    dry = warm.replace("indoor_temperature_c = 20", "indoor_temperature_c = 20\nindoor_rh_percent = 0")
    refused = written(tmp_path, head("dry") + framed("outer frame", "blown-cellulose", 195) + dry)
    assert "indoor_rh_percent" in told_once(wallfront("check", refused))


def test_a_wall_of_no_thickness_keeps_its_u_value(wallfront, tmp_path):
    """Rsi + Rse alone: 1 / (0.13 + 0.04) (ISO 6946); moisture has nothing to be judged by."""
    text = head("nothing", OWN, "exposed") + '[[layer]]\nrole = "lining"\nmaterial = "own"\nthickness_mm = 0\n'
    found = wallfront("check", written(tmp_path, text), "--json")
    told = json.loads(found.out)
    assert found.code == 0 and told["heat"]["u_value"] == pytest.approx(1 / 0.17)
    assert "vapour" in told["moisture"]["reason"]


def test_the_paths_of_the_combined_method_are_told(wallfront, tmp_path):
    """Their shares are the whole wall, and the upper limit is made of them (ISO 6946)."""
    found = json.loads(wallfront("check", written(tmp_path), "--json").out)["heat"]
    assert sum(each["fraction"] for each in found["paths"]) == pytest.approx(1.0)
    assert 1 / sum(each["fraction"] / each["resistance"] for each in found["paths"]) == pytest.approx(found["r_upper"])


def test_one_kind_of_file_taken_for_another_is_told_in_a_line(wallfront, toy, tmp_path):
    brief = tmp_path / "brief.toml"
    shutil.copyfile(toy / "brief.toml", brief)
    wall = written(tmp_path)
    assert "this is a brief; expected a build-up" in told_once(wallfront("check", brief))
    assert "this is a build-up; expected a brief" in told_once(wallfront("check", wall, "--brief", wall))


def test_a_folder_of_a_study_is_not_taken_for_a_file(wallfront, tmp_path):
    """Every command that opens a study says what it found instead, before it begins."""
    wall = written(tmp_path)
    for call in (("serve", wall), ("suppliers", wall), ("verify", wall)):
        assert "is no study" in told_once(wallfront(*call)), call
    assert "is no study" in told_once(wallfront("handover", wall, "--pick", "W-001", "--out", tmp_path / "docs"))
