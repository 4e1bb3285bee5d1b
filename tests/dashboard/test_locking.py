"""Locking a choice: which walls hold it, what it costs, and the brief of a search under it."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.choosing import locking
from dashboard.choosing.locking import CAP, FOAM, KEEP, RENEWABLE, SUPPLIER, Lock
from materials.errors import InputError
from optimiser.search.run import search


@pytest.fixture(scope="module")
def contents(workspace):
    return workspace.contents(None)


@pytest.fixture(scope="module")
def rows(workspace):
    return workspace.source(None).rows


def test_a_lock_comes_back_from_the_page_and_a_saved_set():
    locks = [Lock(KEEP, "sheathing", "a:b"), Lock(CAP, "thickness_mm", "380"), Lock(SUPPLIER, "", "Hollin Timber")]
    assert locking.read_locks([each.token for each in locks]) == locks
    saved = locking.with_locks({"cost_per_m2": (150, 170)}, locks)
    assert all(len(key) <= 40 and len(span) == 2 for key, span in saved.items())
    assert locking.parted(saved) == ({"cost_per_m2": [150, 170]}, locks)


@given(st.lists(st.text(max_size=30) | st.none() | st.integers()))
def test_what_is_no_lock_is_left_out(tokens):
    for lock in locking.read_locks(tokens):
        assert lock.kind in (KEEP, CAP, FOAM, RENEWABLE, SUPPLIER)


@pytest.mark.parametrize(
    "token",
    [
        "keep:roof:x",
        "most:thickness_mm:nan",
        "most:u_value:1",
        "keep:fill:{}",
        "keep:fill:[1]",
        "renewable:some:",
        "x",
        "",
    ],
)
def test_such_tokens_are_no_locks(token):
    assert locking.read_locks([token]) == []


def test_every_lock_offered_is_held_by_as_many_walls_as_it_says(workspace, rows, contents):
    names = workspace.names(None)
    for chosen in (rows[0], rows[len(rows) // 2]):
        found = locking.offered(chosen, rows, [], contents, names, "EUR")
        assert len({each.words for each in found}) == len(found) > 6
        for each in found:
            kept = locking.held(rows, [each.lock], contents)
            assert len(kept) == each.count
            if each.lock.kind in (KEEP, CAP):
                assert chosen in kept
                assert each.count < len(rows)


def test_materials_and_suppliers_are_looked_up_behind_the_cells(workspace, contents):
    foam = next(key for key, each in contents.materials.items() if each.rigid_foam)
    seller = next(iter(contents.products.values()))
    assert not locking.holds(Lock(FOAM), {"outer board": f"{foam} / Marl Insulation"}, contents)
    assert locking.holds(Lock(FOAM), {"outer board": "none", "airtight layer": "pe-membrane / X"}, contents)
    assert not locking.holds(Lock(SUPPLIER, "", seller.supplier), {"sheathing": f"{seller.key} @600"}, contents)
    assert locking.holds(Lock(RENEWABLE, "insulation"), {"lining": "gypsum-board / X", "gap": "170"}, contents)
    assert not locking.holds(Lock(RENEWABLE, "all"), {"airtight layer": "pe-membrane / X"}, contents)


def test_a_figure_as_a_limit_lets_the_wall_itself_through(workspace, rows, contents):
    for each in rows:
        for lock in (Lock(CAP, key, f"{locking._upwards(each[key]):g}") for key in locking.CAPPED):
            assert locking.holds(lock, each, contents)


def test_what_a_lock_costs_is_signed_against_the_whole_front():
    whole = [
        {"id": "A", "thickness_mm": 400.0, "cost_per_m2": 200.0, "carbon_kgco2e_m2": 30.0},
        {"id": "B", "thickness_mm": 412.0, "cost_per_m2": 180.0, "carbon_kgco2e_m2": 20.0},
    ]
    found = {each.name: (each.change, each.left) for each in locking.costs(whole, whole[1:], "EUR")}
    assert found["thinnest"] == ("+12 mm", "412.0 mm")
    assert found["cheapest"] == ("no change", "€180.0 per m²")
    assert found["lowest carbon"][0] == "no change"
    assert locking.costs(whole, [], "EUR") == []


@pytest.mark.parametrize(
    ("lock", "words"),
    [
        (Lock(CAP, "thickness_mm", "380"), "at most 380 mm thick"),
        (Lock(CAP, "cost_per_m2", "171.8"), "at most €171.8 per m²"),
        (Lock(FOAM), "no plastic foam"),
        (Lock(RENEWABLE, "all"), "renewable materials only"),
        (Lock(SUPPLIER, "", "Hollin Timber"), "nothing from Hollin Timber"),
        (Lock(KEEP, "service zone", ""), "no service zone"),
        (Lock(KEEP, "sheathing", "bb-osb-12"), "sheathing: OSB 12, Brackenfold Boards"),
    ],
)
def test_locks_in_words(workspace, lock, words):
    assert locking.lock_words(lock, workspace.names(None), "EUR") == words


def test_the_brief_under_locks_lets_in_what_they_let_in(workspace, rows, contents):
    brief, offers = workspace.source(None).brief, workspace.slots(None)
    row = rows[0]
    locks = [Lock(KEEP, "outer frame", row["outer frame"]), Lock(SUPPLIER, "", "Marl Insulation")]
    found = locking.locked_brief(brief, [*locks, Lock(CAP, "thickness_mm", "500")], offers, contents)
    key, _, spacing = row["outer frame"].partition(" @")
    assert found.slot("outer frame").allow == (key,)
    assert found.slot("outer frame").spacing_mm == (float(spacing),)
    assert found.limits.max_thickness_mm == 500
    assert found.limits.min_load_bearing_depth_mm == brief.limits.min_load_bearing_depth_mm
    for slot in found.slots.values():
        for each in slot.allow or ():
            assert contents.supplier(each) != "Marl Insulation"


def test_a_lock_that_leaves_a_slot_empty_says_so(workspace, contents):
    brief, offers = workspace.source(None).brief, workspace.slots(None)
    with pytest.raises(InputError, match="nothing is left"):
        locking.locked_brief(brief, [Lock(RENEWABLE, "all")], offers, contents)


def test_a_search_under_locks_finds_the_front_of_the_walls_that_hold_them(workspace, rows, contents):
    """All its walls hold them, and every wall of the old front that does is on it or beaten by one that is."""
    brief, offers = workspace.source(None).brief, workspace.slots(None)
    row = min(rows, key=lambda each: each["carbon_kgco2e_m2"])
    fills = sorted({row[name] for name in locking.MAIN_FILLS if row[name]})
    locks = [Lock(KEEP, "sheathing", "" if row["sheathing"] == "none" else row["sheathing"])]
    if all(each.count(" / ") < 2 for each in fills):
        locks.append(Lock(KEEP, "fill", json.dumps(fills)))
    outcome = search(locking.locked_brief(brief, locks, offers, contents), workspace.source(None).study.folder)
    from optimiser.search.study import front_of

    again = [each for each, _ in front_of(outcome.archives[0])]
    assert again
    assert len(locking.held(again, locks, contents)) == len(again)
    keys = ("thickness_mm", "cost_per_m2", "carbon_kgco2e_m2")
    before = locking.held(rows, locks, contents)
    assert before
    for each in before:
        assert any(all(other[key] <= each[key] + 1e-6 for key in keys) for other in again)
