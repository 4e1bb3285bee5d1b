"""`wallfront suppliers`: tables, JSON, the table of all fronts, what is kept, and input that cannot be used."""

import csv
import json
import shutil

import pytest
import toy_space as small
from called import told_once

from optimiser.search.run import save, search
from optimiser.search.study import open_study

OTHERS = {"t-195": "Hill Sawmill", "o-12": "Plain Boards", "a-2": "Plain Boards", "f-fib": "Plain Boards"}


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A study of the toy space with two targets and suppliers that compete, as the search wrote it."""
    folder = tmp_path_factory.mktemp("competing")
    brief = small.brief_in(
        folder, small.sold_by(OTHERS), search={"start_generations": 2}, target={"u_value": 0.11, "also": [0.13]}
    )
    save(search(brief, folder), folder, folder / "study")
    return folder / "study"


@pytest.fixture(autouse=True)
def wide(monkeypatch):
    """A terminal in which no cell wraps."""
    monkeypatch.setenv("COLUMNS", "240")


@pytest.fixture
def place(made, tmp_path):
    """A copy of it."""
    return shutil.copytree(made, tmp_path / "study")


def test_the_tables_name_every_supplier_and_what_each_leaves(wallfront, place):
    found = wallfront("suppliers", place, "--no-break-even")
    assert found.code == 0
    front = [row for row in open_study(place).rows if row["target"] == 0.11]
    assert f"U at most 0.11: {len(front)} walls on the front (complete)" in found.out
    for words in ("left out", "timber by one alone", "boards by one alone", "Hill Sawmill", "Toy Fills", "volume"):
        assert words in found.out
    assert "without Toy Timber: no wall is left" in found.out.replace("\n", " ")
    assert "cladding: cladding 20, Toy Timber" in found.out.replace("\n", " ")
    assert "swapped" not in found.out and "Break-even" not in found.out


def test_json_holds_fronts_swaps_and_break_evens(wallfront, place):
    wall = open_study(place).rows[0]["id"]
    found = wallfront("suppliers", place, "--wall", wall, "--json")
    assert found.code == 0 and found.err == ""
    value = json.loads(found.out)
    assert set(value) == {"currency", "fronts", "wall", "swaps", "break_even"}
    assert value["fronts"]["target"] == 0.11
    assert {each["supplier"] for each in value["fronts"]["fronts"]} >= {"Hill Sawmill", "Plain Boards", "Toy Timber"}
    assert value["wall"] == wall
    assert all(each["passes"] == (not each["fails"] and each["reason"] is None) for each in value["swaps"])
    assert any(each["passes"] for each in value["swaps"]) and any(not each["passes"] for each in value["swaps"])
    on_front = {cell for row in open_study(place).rows if row["target"] == 0.11 for cell in row.values()}
    assert value["break_even"]
    assert not {each["product"] for each in value["break_even"]} & on_front


def test_the_wall_is_swapped_and_its_own_target_compared(wallfront, place):
    row = next(row for row in open_study(place).rows if row["target"] == 0.13)
    found = wallfront("suppliers", place, "--wall", row["id"], "--no-break-even")
    assert found.code == 0
    assert "U at most 0.13" in found.out
    assert f"{row['id']} " in found.out and "one product swapped for another" in found.out
    assert "fails target" in found.out and "cannot be built: " in found.out


def test_break_even_prices_are_printed_and_what_never_enters_says_why(wallfront, place):
    found = wallfront("suppliers", place)
    assert found.code == 0
    assert "Break-even prices" in found.out
    assert "made for none of the slots in its size (1): k-12" in found.out
    told = json.loads(wallfront("suppliers", place, "--json").out)["break_even"]
    assert any(each["at"] is not None for each in told)
    for each in told:
        if each["at"] is not None:
            line = next(line for line in found.out.splitlines() if line.startswith(f"{each['name']}, "))
            assert f" {each['at']:.2f} " in line and f"{each['change']:+.1%}" in line and each["in_short"] in line


def test_carbon_and_conductivity_break_even_too(wallfront, place):
    """Each lever is a search of its own; a word that is none is refused before any begins."""
    asked = ("suppliers", place, "--lever", "carbon", "--lever", "conductivity")
    told = json.loads(wallfront(*asked, "--json").out)
    assert "break_even" not in told
    for lever, unit in (("carbon", "kgCO2e/kg"), ("conductivity", "W/mK")):
        values = told[f"break_even_{lever}"]
        assert {each["unit"] for each in values if each["unit"]} == {unit}
        assert all(0 <= each["at"] < each["today"] for each in values if each["at"] is not None)
    printed = wallfront(*asked).out
    assert "Break-even carbon of making" in printed and "Break-even conductivities" in printed
    refused = told_once(wallfront("suppliers", place, "--lever", "weight"))
    assert "weight" in refused and all(lever in refused for lever in ("price", "carbon", "conductivity"))


def test_the_second_call_reads_what_the_first_one_kept(wallfront, place, monkeypatch):
    first = wallfront("suppliers", place, "--json")
    assert (place / "suppliers.json").is_file()
    open_study(place)
    monkeypatch.setattr("optimiser.command.suppliers.supplier_fronts", lambda *_, **__: pytest.fail("searched again"))
    monkeypatch.setattr("optimiser.command.suppliers.break_evens", lambda *_, **__: pytest.fail("searched again"))
    second = wallfront("suppliers", place, "--json")
    assert second.out == first.out


def test_workers_change_nothing_but_the_seconds(wallfront, place):
    def told(*options):
        (place / "suppliers.json").unlink(missing_ok=True)
        value = json.loads(wallfront("suppliers", place, "--json", "--no-break-even", *options).out)["fronts"]
        value["seconds"] = 0
        return [each | {"seconds": 0} for each in value.pop("fronts")], value

    assert told() == told("--workers", "2")


def test_the_table_of_all_fronts_lays_them_over_each_other(wallfront, place, tmp_path):
    found = wallfront("suppliers", place, "--no-break-even", "--out", tmp_path / "all.csv")
    assert found.code == 0
    with (tmp_path / "all.csv").open(encoding="utf-8", newline="") as file:
        read = list(csv.DictReader(file))
    full = [row for row in open_study(place).rows if row["target"] == 0.11]
    assert [row["id"] for row in read if row["case"] == "all suppliers"] == [row["id"] for row in full]
    assert [float(row["cost_per_m2"]) for row in read[: len(full)]] == [row["cost_per_m2"] for row in full]
    fronts = json.loads(wallfront("suppliers", place, "--json", "--no-break-even").out)["fronts"]["fronts"]
    assert len(read) == len(full) + sum(len(each["walls"].get("id", [])) for each in fronts)
    assert {row["case"] for row in read} >= {"without Hill Sawmill", "timber by Toy Timber alone"}


def test_names_like_formulas_and_like_markup_do_no_harm(wallfront, tmp_path):
    names = OTHERS | {"t-195": "=Hill(1)", "o-12": "[bold]Plain", "a-2": "[bold]Plain"}
    brief = small.brief_in(tmp_path, small.sold_by(names), search={"start_generations": 2})
    save(search(brief, tmp_path), tmp_path, tmp_path / "study")
    found = wallfront("suppliers", tmp_path / "study", "--no-break-even", "--out", tmp_path / "all.csv")
    assert found.code == 0
    assert "=Hill(1)" in found.out and "[bold]Plain" in found.out
    with (tmp_path / "all.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.reader(file):
            assert not any(cell.startswith(("=", "+", "@", "-")) and not _number(cell) for cell in row)


def _number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


def test_input_that_cannot_be_used_is_told_once(wallfront, place, tmp_path):
    assert "is no study" in told_once(wallfront("suppliers", tmp_path / "nowhere"))
    assert 'no wall "W-9"' in told_once(wallfront("suppliers", place, "--wall", "W-9"))
    (tmp_path / "mine.csv").write_text("mine")
    assert "exists" in told_once(wallfront("suppliers", place, "--out", tmp_path / "mine.csv"))
    assert (tmp_path / "mine.csv").read_text() == "mine"
    assert not (place / "suppliers.json").exists(), "told before anything is searched"


def test_a_front_that_is_not_the_complete_one_gets_no_break_even_prices(wallfront, place):
    text = (place / "front.csv").read_text(encoding="utf-8").splitlines()
    (place / "front.csv").write_text("\n".join([text[0], *text[2:]]) + "\n", encoding="utf-8")
    found = wallfront("suppliers", place)
    assert found.code == 0
    assert "no break-even values (price): " in found.err and "search again" in found.err
    assert "Traceback" not in found.err


def test_help_starts_quickly_and_names_the_options(process):
    found = process("suppliers", "--help")
    assert found.code == 0
    for option in ("--wall", "--json", "--break-even", "--no-break-even", "--workers", "--out"):
        assert option in found.out
