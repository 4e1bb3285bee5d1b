"""The study folder of design.md: whole, unrounded, its own; and what happens when something is wrong with it."""

import csv
import hashlib
import json
import math
import shutil

import numpy as np
import pytest
import toy_space as small

from materials.catalogue import load_catalogue
from materials.errors import InputError
from optimiser.brief.brief import read_brief
from optimiser.checks.judge import judge
from optimiser.search import files, records, study
from optimiser.search.run import save, search
from optimiser.template import FILLS, SLOTS
from optimiser.wall.scores import WHOLE_LIFE

QUICK = {"population": 60, "generations": 25}
HOUSE = {"length_m": 9.0, "width_m": 6.0, "storeys": 2, "storey_height_m": 2.6, "openings_m2": 20}
TARGETS = {"u_value": 0.11, "also": [0.13]}


def made(folder, out, rows=small.PRODUCTS, **changes):
    """Search a toy brief in `folder` and write the study `out`."""
    brief = small.brief_in(folder, rows, **({"search": QUICK} | changes))
    outcome = search(brief, folder)
    save(outcome, folder, out)
    return outcome


@pytest.fixture(scope="module")
def one(tmp_path_factory):
    """A study of two targets, its outcome, and the folder of its brief."""
    folder = tmp_path_factory.mktemp("two-targets")
    return folder / "study", made(folder, folder / "study", house=HOUSE, target=TARGETS), folder


def contents(folder):
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def raw_rows(folder):
    with (folder / "front.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_folder_holds_what_the_contract_names(one):
    folder, outcome, _ = one
    rows = raw_rows(folder)
    assert {"brief.toml", "front.csv", "buildups", "study.json"} <= {each.name for each in folder.iterdir()}
    columns = ["id", "target", "thickness_mm", "cost_per_m2", "carbon_kgco2e_m2", "u_value", "weight_kg_m2"]
    assert list(rows[0])[: len(columns)] == columns
    assert {*SLOTS, "outer fill", "gap fill", "inner fill", "service fill"} <= set(rows[0])
    assert len({row["id"] for row in rows}) == len(rows) == outcome.summary["front_size"]
    assert {each.stem for each in (folder / "buildups").glob("*.toml")} == {row["id"] for row in rows}
    summary = json.loads((folder / "study.json").read_text(encoding="utf-8"))
    keys = "version catalogue price_lists seed objectives limits space_size evaluations seconds complete"
    assert set(keys.split()) <= set(summary)
    assert summary["seed"] == 7
    assert summary["complete"] is True
    for proof in summary["proof"]:
        assert proof["share"] == 1.0
        assert proof["evaluated"] + sum(proof["excluded"].values()) == summary["space_size"]
    assert summary["objectives"] == ["thickness_mm", "cost_per_m2", "carbon_kgco2e_m2"]
    assert summary["targets"] == [0.11, 0.13]
    assert summary["catalogue"] == load_catalogue().digest
    assert not list(folder.parent.glob(".study*")), "temporary folders were left behind"


def test_every_target_has_its_front_and_no_row_is_beaten_within_it(one):
    rows = study.open_study(one[0]).rows
    for target in (0.11, 0.13):
        of = [row for row in rows if row["target"] == target]
        assert of
        assert all(row["u_value"] <= target for row in of)
        figures = np.array([[row[key] for key in ("thickness_mm", "cost_per_m2", "carbon_kgco2e_m2")] for row in of])
        as_good = (figures[:, None] <= figures[None]).all(axis=2)
        assert np.array_equal(as_good, np.eye(len(of), dtype=bool))


def test_figures_are_those_of_the_search_to_the_last_bit(one):
    folder, outcome, _ = one
    found = {(row["target"], row["id"]): row for row in study.open_study(folder).rows}
    for archive in outcome.archives:
        every, scores, _ = archive.all()
        place = {row.tobytes(): number for number, row in enumerate(every)}
        rows = [row for (target, _), row in found.items() if target == archive.target]
        for key in ("thickness_mm", "cost_per_m2", "carbon_kgco2e_m2", "u_value", "weight_kg_m2"):
            searched = sorted(getattr(scores, key)[place[row.tobytes()]] for row in archive.best_x)
            assert sorted(row[key] for row in rows) == pytest.approx(searched, rel=1e-14), key
    assert any(len(row["u_value"].split(".")[1]) > 8 for row in raw_rows(folder)), "figures look rounded"


def test_each_build_up_judged_by_itself_has_the_figures_of_its_row(one):
    opened = study.open_study(one[0])
    for row in opened.rows:
        found = judge(opened.buildup(row["id"]), opened.pricing)
        for key in ("thickness_mm", "cost_per_m2", "carbon_kgco2e_m2", "u_value", "weight_kg_m2", "biogenic_kgco2e_m2"):
            assert getattr(found, key) == pytest.approx(row[key], rel=1e-9), (row["id"], key)
        assert found.unpriced == []


def test_floor_area_lost_is_that_of_the_house(one):
    for row in study.open_study(one[0]).rows:
        t = row["thickness_mm"] / 1000
        inside = (9.0 - 2 * t) * (6.0 - 2 * t)
        assert row["floor_area_lost_m2"] == pytest.approx(2 * (9.0 * 6.0 - inside), rel=1e-12)


def test_equal_briefs_give_equal_studies_but_for_the_seconds(tmp_path):
    made(tmp_path, tmp_path / "a")
    made(tmp_path, tmp_path / "b")
    one, two = contents(tmp_path / "a"), contents(tmp_path / "b")
    for found in (one, two):
        summary = json.loads(found.pop("study.json"))
        assert summary.pop("seconds") >= 0
        assert all(proof.pop("seconds") >= 0 for proof in summary["proof"])
        found["summary"] = summary
    assert one == two


def test_targets_that_share_their_leading_digits_keep_every_build_up(tmp_path):
    outcome = made(tmp_path, tmp_path / "s", target={"u_value": 0.1296, "also": [0.1304]})
    rows = raw_rows(tmp_path / "s")
    assert len(outcome.archives) == 2
    assert len({row["id"] for row in rows}) == len(rows)
    assert len(list((tmp_path / "s" / "buildups").iterdir())) == len(rows)


def test_digests_change_with_a_price_list_and_with_nothing_else(tmp_path):
    first = made(tmp_path, tmp_path / "a").summary
    assert first["price_lists"] == {"toy.csv": hashlib.sha256((tmp_path / "toy.csv").read_bytes()).hexdigest()}
    again = made(tmp_path, tmp_path / "a", seed={"value": 8}).summary
    assert again["price_lists"] == first["price_lists"]
    dearer = [row.replace(",0.60,", ",0.61,") for row in small.PRODUCTS]
    changed = made(tmp_path, tmp_path / "a", dearer).summary
    assert changed["price_lists"] != first["price_lists"]
    assert changed["catalogue"] == first["catalogue"]


def test_a_study_that_was_moved_opens_prices_and_searches_again(tmp_path):
    made(tmp_path / "here", tmp_path / "here" / "study")
    (tmp_path / "there").mkdir()
    moved = shutil.move(tmp_path / "here" / "study", tmp_path / "there" / "moved")
    shutil.rmtree(tmp_path / "here")
    opened = study.open_study(moved)
    row = opened.rows[0]
    assert judge(opened.buildup(row["id"]), opened.pricing).cost_per_m2 == pytest.approx(row["cost_per_m2"], rel=1e-9)
    again = search(read_brief(moved / "brief.toml"), moved)
    files_ = {key: value for key, value in again.summary["price_lists"].items()}
    assert list(files_.values()) == list(opened.summary["price_lists"].values())
    steps = [np.rint(row["thickness_mm"] * 100) for row in opened.rows]
    assert sorted(again.archives[0].best_steps[:, 0]) == sorted(steps)


def test_lists_of_one_file_name_in_two_folders_are_both_kept(tmp_path):
    small.brief_in(tmp_path)
    halves = small.PRODUCTS[:8], small.PRODUCTS[8:]
    for name, rows in zip(("timber", "rest"), halves, strict=True):
        (tmp_path / name).mkdir()
        small.write_list(tmp_path / name, rows, "list.csv")
    path = small.write_brief(tmp_path, prices={"lists": ["timber/list.csv", "rest/list.csv"]}, search=QUICK)
    save(search(read_brief(path), tmp_path), tmp_path, tmp_path / "s")
    opened = study.open_study(tmp_path / "s")
    assert len(opened.pricing.products) == len(small.PRODUCTS)


def test_a_study_that_fails_to_be_written_leaves_the_earlier_one(tmp_path, monkeypatch):
    made(tmp_path, tmp_path / "s")
    before = contents(tmp_path / "s")
    outcome = search(small.brief_in(tmp_path, search=QUICK, target={"u_value": 0.12}), tmp_path)

    def full(*_):
        raise OSError(28, "No space left on device")

    for place in ("to_csv", "cloud_of", "buildup"):
        with monkeypatch.context() as patch:
            patch.setattr(study, place, full)
            with pytest.raises(OSError, match="No space"):
                save(outcome, tmp_path, tmp_path / "s")
        assert contents(tmp_path / "s") == before
        assert {each.name for each in tmp_path.iterdir()} == {"s", "brief.toml", "toy.csv"}
    save(outcome, tmp_path, tmp_path / "s")
    assert contents(tmp_path / "s") != before


def test_a_study_that_cannot_be_swapped_in_leaves_the_earlier_one(tmp_path, monkeypatch):
    (tmp_path / "s").mkdir()
    (tmp_path / "s" / files.MARK).write_text("{}")
    rename = files.Path.rename

    def refuse(path, target):
        if str(target).endswith("/s") and not path.name.endswith(".old"):
            raise OSError("no")
        return rename(path, target)

    monkeypatch.setattr(files.Path, "rename", refuse)
    with pytest.raises(OSError, match="no"):
        files.replace_folder(tmp_path / "s", lambda fresh: (fresh / "x").write_text("x"))
    assert contents(tmp_path / "s") == {files.MARK: b"{}"}
    assert [each.name for each in tmp_path.iterdir()] == ["s"]


@pytest.mark.parametrize("kind", ["folder with a file", "file"])
def test_what_is_no_study_is_never_touched(tmp_path, kind):
    place = tmp_path / "mine"
    if kind == "file":
        place.write_text("diary")
    else:
        place.mkdir()
        (place / "diary.txt").write_text("diary")
    before = contents(tmp_path)
    with pytest.raises(InputError, match="is no study"):
        files.replace_folder(place, lambda fresh: (fresh / "x").write_text("x"))
    assert contents(tmp_path) == before


def test_an_empty_folder_is_taken(tmp_path):
    (tmp_path / "s").mkdir()
    files.replace_folder(tmp_path / "s", lambda fresh: (fresh / "x").write_text("x"))
    assert contents(tmp_path / "s") == {"x": b"x"}


def test_no_text_of_a_front_can_come_through_as_a_formula(one):
    for row in raw_rows(one[0]):
        for key, text in row.items():
            try:
                float(text)
            except ValueError:
                assert not text.startswith(("=", "+", "-", "@", "\t", "\r")), (key, text)
    assert any(row["biogenic_kgco2e_m2"].startswith("-") for row in raw_rows(one[0])), "numbers stay numbers"


@pytest.mark.parametrize("sign", "=+-@")
def test_names_that_begin_like_a_formula_never_reach_a_front(tmp_path, sign):
    """A product key that begins so is refused by the list; names and suppliers stand behind other words."""
    rows = [row.replace("Toy Fills", f"{sign}Toy(1)").replace("hemp 45", f"{sign}1+1") for row in small.PRODUCTS]
    made(tmp_path, tmp_path / "s", rows)
    test_no_text_of_a_front_can_come_through_as_a_formula((tmp_path / "s",))
    small.write_brief(tmp_path, [row.replace("a-1,", f"{sign}a-1,") for row in small.PRODUCTS])
    with pytest.raises(InputError, match="column product"):
        search(read_brief(tmp_path / "brief.toml"), tmp_path)


def test_csv_keeps_numbers_to_the_last_bit_and_text_with_commas_and_quotes(tmp_path):
    always = dict.fromkeys(records.ALWAYS, 0.1 + 0.2)
    rows = [{"id": "W-001"} | always | {"in_short": 'a "b", c\nd', "floor_area_lost_m2": None}]
    (tmp_path / "front.csv").write_text(study.to_csv(rows), encoding="utf-8")
    assert study._read_front(tmp_path / "front.csv") == rows


def test_opened_rows_are_numbers_and_unknown_walls_are_told(one):
    opened = study.open_study(one[0])
    first = opened.rows[0]
    assert isinstance(first["equal_count"], int) and first["equal_count"] >= 1
    assert first[WHOLE_LIFE] is None  # its brief says nothing of what heats the house
    assert all(math.isfinite(first[key]) for key in study.FIGURES if key != WHOLE_LIFE)
    assert opened.row(first["id"]) is first
    with pytest.raises(InputError, match=f'nearest: "{first["id"]}"'):
        opened.row(first["id"] + "x")
    assert set(opened.cloud) >= {"thickness_mm", "carbon_kgco2e_m2", "u_value"}
    assert set(opened.cloud["target"]) == {0.11, 0.13}
    assert all(u <= target for u, target in zip(opened.cloud["u_value"], opened.cloud["target"], strict=True))


def test_slots_of_a_row_are_those_of_its_brief(one):
    opened = study.open_study(one[0])
    allow = small.SMALL["slots"]
    for row in opened.rows:
        assert row["cladding"] == "c-20"
        for name in set(SLOTS) - {"gap"} - set(FILLS):
            keys = allow[name].get("allow") or [allow[name]["lock"]]
            assert row[name].split(" @")[0] in keys, name


BROKEN = {
    "no such folder": (lambda s: shutil.rmtree(s), "is no study"),
    "no study.json": (lambda s: (s / "study.json").unlink(), "is no study"),
    "half a study.json": (lambda s: (s / "study.json").write_text('{"version": 1,'), "study.json: line 1"),
    "study.json of another kind": (lambda s: (s / "study.json").write_text("[]"), "is no study"),
    "another version": (lambda s: (s / "study.json").write_text('{"version": 99}'), "version 99"),
    "no brief": (lambda s: (s / "brief.toml").unlink(), "no such file"),
    "no front": (lambda s: (s / "front.csv").unlink(), "front.csv"),
    "a front with words for numbers": (
        lambda s: (s / "front.csv").write_text("id,target,thickness_mm\nW-001,0.11,thick\n"),
        "front.csv",
    ),
    "a front cut off": (lambda s: (s / "front.csv").write_text("id,target,thickness_mm\nW-001,0.11\n"), "front.csv"),
    "a row too long": (lambda s: (s / "front.csv").write_text("id,target\nW-001,0.11,3\n"), "front.csv"),
    "a front that is no text": (lambda s: (s / "front.csv").write_bytes(b"id,target\n\xff\xfe,0.1\n"), "front.csv"),
}


@pytest.mark.parametrize(("damage", "words"), BROKEN.values(), ids=BROKEN.keys())
def test_a_study_that_cannot_be_read_says_which_part(one, tmp_path, damage, words):
    shutil.copytree(one[0], tmp_path / "s")
    damage(tmp_path / "s")
    with pytest.raises(InputError, match=words):
        study.open_study(tmp_path / "s")


def test_a_list_that_vanished_is_told_and_not_a_crash(tmp_path):
    outcome = search(small.brief_in(tmp_path, search=QUICK), tmp_path)
    (tmp_path / "toy.csv").unlink()
    with pytest.raises(InputError, match=r"toy\.csv"):
        save(outcome, tmp_path, tmp_path / "s")
    assert not (tmp_path / "s").exists()


@pytest.mark.parametrize("junk", [b"", b"PK\x03\x04 cut off", b"not an archive"])
def test_a_damaged_file_of_arrays_counts_as_none(tmp_path, junk):
    (tmp_path / "state.npz").write_bytes(junk)
    assert files.read_arrays(tmp_path / "state.npz") is None
    assert files.read_arrays(tmp_path / "absent.npz") is None


def test_arrays_that_cannot_be_written_leave_the_earlier_file_and_nothing_else(tmp_path, monkeypatch):
    files.write_arrays(tmp_path / "state.npz", {"x": np.arange(3)})
    before = contents(tmp_path)

    def full(*_, **__):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(np, "savez_compressed", full)
    with pytest.raises(OSError, match="No space"):
        files.write_arrays(tmp_path / "state.npz", {"x": np.arange(4)})
    assert contents(tmp_path) == before


def test_a_file_of_the_user_s_in_a_study_is_never_lost(tmp_path):
    made(tmp_path, tmp_path / "s")
    (tmp_path / "s" / "notes.txt").write_text("mine", encoding="utf-8")
    before = contents(tmp_path / "s")
    with pytest.raises(InputError, match=r"notes\.txt"):
        made(tmp_path, tmp_path / "s")
    assert contents(tmp_path / "s") == before
