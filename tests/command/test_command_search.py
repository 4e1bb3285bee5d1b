"""`wallfront search`: exit codes, one message each, and an earlier study that nothing failing ever touches."""

import json
import re
import shutil

import pytest
import tomli_w
import toy_space as small
from called import told_once

from optimiser.search import run, study

QUICK = {"population": 60, "generations": 12}


def contents(folder):
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


@pytest.fixture(scope="module")
def earlier(tmp_path_factory):
    """A folder with a brief, its list, and its study as the command wrote it."""
    folder = tmp_path_factory.mktemp("earlier")
    path = small.write_brief(folder, search=QUICK)
    run.save(run.search(run.study.read_brief(path), folder), folder, folder / "study")
    return folder


@pytest.fixture
def place(earlier, tmp_path):
    """A copy of it, to be tried to be spoilt."""
    shutil.copytree(earlier, tmp_path, dirs_exist_ok=True)
    return tmp_path


def test_a_search_writes_a_study_and_says_so(process, place):
    found = process("search", place / "brief.toml", "--out", place / "new")
    assert found.code == 0
    assert "Traceback" not in found.err
    assert f"study written to {place / 'new'}" in found.out
    opened = study.open_study(place / "new")
    assert f"{len(opened.rows)} walls on the front" in found.out
    ours, theirs = contents(place / "new"), contents(place / "study")
    for each in (ours, theirs):
        each.pop("study.json")  # holds the seconds
    assert ours == theirs, "the same brief, lists and seed"


def test_json_is_the_summary_of_the_study_and_nothing_else(wallfront, place):
    found = wallfront("search", place / "brief.toml", "--out", place / "study", "--json")
    assert found.code == 0
    assert found.err == ""
    value = json.loads(found.out)
    assert value.pop("missed") == []
    assert {name for each in value.pop("landmarks") for name in each["names"]} >= {"thinnest", "cheapest"}
    assert value == json.loads((place / "study" / "study.json").read_text(encoding="utf-8"))


def test_a_brief_that_no_wall_can_meet_is_answered_no_and_json_comes_all_the_same(wallfront, place):
    before = contents(place / "study")
    path = small.write_brief(place, search=QUICK, target={"u_value": 0.02})
    found = wallfront("search", path, "--out", place / "study", "--json")
    assert found.code == 1
    value = json.loads(found.out)
    assert value["front_size"] == 0
    assert [each["target"] for each in value["missed"]] == [0.02]
    assert any("nearest miss" in reason for reason in value["missed"][0]["reasons"])
    assert value["missed"][0]["nearest"]["u_value"] > 0.02
    assert found.err.count("no wall meets the brief") == 1
    assert contents(place / "study") == before


def test_a_brief_that_leaves_nothing_to_build_is_answered_no(wallfront, place):
    before = contents(place / "study")
    slots = small.SMALL["slots"] | {"sheathing": {"lock": "none"}, "outer gap board": {"lock": "none"}}
    found = wallfront("search", small.write_brief(place, slots=slots), "--out", place / "study")
    assert found.code == 1
    assert "racking board" in found.err
    assert "Traceback" not in found.err
    assert contents(place / "study") == before


def spoilt(key, value):
    """A brief with one section replaced."""
    return lambda: tomli_w.dumps(small.raw(search=QUICK) | {key: value})


def slots(**changes):
    return lambda: tomli_w.dumps(
        small.raw(search=QUICK, slots={key.replace("_", " "): v for key, v in changes.items()})
    )


def replaced(old, new):
    return lambda: tomli_w.dumps(small.raw(search=QUICK)).replace(old, new)


UNUSABLE = {
    "a decimal comma": (replaced("u_value = 0.11", "u_value = 0,11"), ["line", r'"0,11"', "decimals with a point"]),
    "an empty brief": (lambda: "", ["the brief is empty"]),
    "no target": (replaced("[target]\nu_value = 0.11", ""), ["target", "is missing"]),
    "a target of nothing": (replaced("u_value = 0.11", "u_value = 0"), ["target, u_value"]),
    "a negative limit": (spoilt("limits", {"max_thickness_mm": -1}), ["max_thickness_mm", "-1"]),
    "an unknown limit": (spoilt("limits", {"max_thicknes_mm": 500}), [r'nearest: "max_thickness_mm"']),
    "an unknown objective": (spoilt("objectives", {"minimise": ["price"]}), ['"price" is no objective', "cost_per_m2"]),
    "an unknown slot": (slots(outer_bord={"lock": "wf-22"}), [r'"outer bord" is no slot', 'nearest: "outer board"']),
    "an unknown product": (slots(sheathing={"allow": ["o-91"]}), ["sheathing", r'"o-91"', r'nearest: "o-9"']),
    "a product for another slot": (slots(lining={"lock": "t-95"}), ["lining", "not made for this slot"]),
    "a slot that cannot be empty": (slots(lining={"lock": "none"}), ["lining", "cannot be empty"]),
    "a lining left open": (replaced('lining]\nlock = "p-12"', "lining]"), ["lining", "lock"]),
    "foam between studs": (slots(fill={"allow": ["pir-board"]}), ["fill", "rigid foam"]),
    "an unknown supplier": (
        spoilt("prices", {"lists": ["toy.csv"], "suppliers": ["Toy Timbr"]}),
        [r'supplier "Toy Timbr"', r'nearest: "Toy Timber"'],
    ),
    "another currency": (spoilt("prices", {"lists": ["toy.csv"], "currency": "GBP"}), ["EUR", "GBP"]),
    "a list that is not there": (spoilt("prices", {"lists": ["toys.csv"]}), [r"toys\.csv", "no such file"]),
    "a list named twice": (spoilt("prices", {"lists": ["toy.csv", "toy.csv"]}), ["twice"]),
    "a demo list that is none": (spoilt("prices", {"lists": ["demo:holin-timber.csv"]}), ["nearest", "hollin-timber"]),
    "ties of an unknown product": (spoilt("tie", {"product": "k-21"}), [r"tie\.product", r'nearest: "k-12"']),
    "a metal tie": (spoilt("tie", {"product": "steel-3"}), [r"tie\.product", "metal", "ISO 6946"]),
    "studs that leave no room": (
        slots(outer_frame={"allow": ["t-145"], "spacing_mm": [40]}),
        ["outer frame", "no room"],
    ),
    "no stud deep enough": (spoilt("limits", {"min_load_bearing_depth_mm": 300}), ["outer frame", "300 mm"]),
    "a gap from more to less": (spoilt("gap", {"min_mm": 100, "max_mm": 50}), ["gap", "max_mm"]),
    "a seed that is no number": (spoilt("seed", {"value": "x"}), ["seed, value"]),
}
STEEL = "steel-3,steel strap,galvanised-fixings,Toy Boards,3,,1.00,piece,EUR,,,"


@pytest.mark.parametrize(("text", "words"), UNUSABLE.values(), ids=UNUSABLE.keys())
def test_a_brief_that_cannot_be_used_says_so_once_and_leaves_the_study(wallfront, place, text, words):
    before = contents(place / "study")
    small.write_list(place, [*small.PRODUCTS, STEEL])
    (place / "brief.toml").write_text(text(), encoding="utf-8")
    message = told_once(wallfront("search", place / "brief.toml", "--out", place / "study"))
    assert "brief.toml: " in message
    for word in words:
        assert re.search(word, message), (word, message)
    assert contents(place / "study") == before
    assert {each.name for each in place.iterdir()} == {"brief.toml", "toy.csv", "study"}


FAULTY = ["o-9,OSB 9,osb,Toy Boards,nine,,4.20,m2,EUR,,,", "x-1,?,unobtainium,Toy Boards,9,,-1,m2,EUR,,,"]


def test_a_broken_list_cannot_be_searched_and_every_fault_is_told(wallfront, place):
    before = contents(place / "study")
    rows = [row for row in small.PRODUCTS if not row.startswith("o-9,")] + FAULTY
    small.write_list(place, rows)
    message = told_once(wallfront("search", place / "brief.toml", "--out", place / "study", "--json"))
    for word in ("thickness_mm", "'nine'", "column material", "'unobtainium'", "column price", "'-1'"):
        assert word in message
    assert len(message.splitlines()) >= 3
    assert contents(place / "study") == before


def test_a_missing_brief_is_told(wallfront, place):
    before = contents(place / "study")
    assert "no such file" in told_once(wallfront("search", "absent.toml", "--out", place / "study"))
    assert contents(place / "study") == before


@pytest.mark.parametrize("place_of_out", ["folder", "file", "nowhere"])
def test_an_out_folder_that_is_no_study_is_refused_before_the_search(wallfront, place, monkeypatch, place_of_out):
    monkeypatch.setattr(run, "search", lambda *_, **__: pytest.fail("searched all the same"))
    out = place / "mine"
    if place_of_out == "folder":
        out.mkdir()
        (out / "diary.txt").write_text("diary")
    elif place_of_out == "file":
        out.write_text("diary")
    else:
        out = out / "deeper"
    before = contents(place)
    message = told_once(wallfront("search", place / "brief.toml", "--out", out))
    assert str(out) in message
    assert ("does not exist" if place_of_out == "nowhere" else "is no study") in message
    assert contents(place) == before


def test_a_search_that_is_interrupted_leaves_the_earlier_study(wallfront, place, monkeypatch):
    before = contents(place / "study")

    def interrupted(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(study, "buildup", interrupted)  # in the middle of writing the new study
    found = wallfront("search", place / "brief.toml", "--out", place / "study", "--json")
    assert found.code == 130
    assert found.out == ""
    assert "Traceback" not in found.err
    assert contents(place / "study") == before
    assert {each.name for each in place.iterdir()} == {"brief.toml", "toy.csv", "study"}


def test_several_targets_of_which_one_fails_say_so_and_keep_the_others(wallfront, place):
    path = small.write_brief(place, search=QUICK, target={"u_value": 0.11, "also": [0.02]})
    found = wallfront("search", path, "--out", place / "study", "--json")
    value = json.loads(found.out)
    assert found.code == 0
    assert value["front_size"] > 0
    assert [each["target"] for each in value["missed"]] == [0.02]
    assert "U at most 0.02" in found.err
    assert {row["target"] for row in study.open_study(place / "study").rows} == {0.11}


def test_paths_of_price_lists_are_beside_the_brief_not_where_one_stands(wallfront, place, monkeypatch):
    (place / "elsewhere").mkdir()
    monkeypatch.chdir(place / "elsewhere")
    assert wallfront("search", "../brief.toml", "--out", "s", "--json").code == 0
    assert study.open_study(place / "elsewhere" / "s").rows
