"""The brief's [materials]: what origin and reaction to fire leave out of every slot, and how it is told."""

from __future__ import annotations

import pytest
from small_briefs import LOCKED, PRICING, brief_of
from small_briefs import MATERIALS as PLAIN

from materials.catalogue import Catalogue
from materials.errors import InputError
from materials.models import FIRE_CLASSES, Material
from optimiser.brief.brief import brief_to_toml, parse_brief
from optimiser.space.choices import Choices
from optimiser.space.options import allowed, offers, with_allowed

ORIGIN = {"gypsum": "mineral", "foam": "fossil", "foil": "fossil", "slab": "fossil", "soft": None}
FIRE = {"gypsum": "A2-s1,d0", "foil": "E", "foam": None, "hemp": "E", "flock": "B-s2,d0", "chips": "E"}
MATERIALS = [
    each.model_copy(
        update={"origin": ORIGIN.get(each.key, "renewable"), "reaction_to_fire": FIRE.get(each.key, "D-s2,d0")}
    )
    for each in PLAIN
]
CATALOGUE = Catalogue({each.key: each for each in MATERIALS}, {}, "filtered")


def held(name, materials, **slots):
    brief = brief_of(slots, materials=materials)
    return [each.key for each in allowed(name, brief, CATALOGUE, PRICING)[0]]


def refused(materials, **slots):
    with pytest.raises(InputError) as error:
        Choices(
            brief_of({name.replace("_", " "): each for name, each in slots.items()}, materials=materials),
            CATALOGUE,
            PRICING,
        )
    return str(error.value)


def test_without_filters_everything_is_let_in():
    assert held("outer board", {}) == ["fibre-22", "fibre-60", "foam-40"]


@pytest.mark.parametrize(
    ("name", "origins", "kept"),
    [
        ("outer board", ["renewable"], ["fibre-22", "fibre-60"]),
        ("outer board", ["fossil"], ["foam-40"]),
        ("outer board", ["fossil", "renewable"], ["fibre-22", "fibre-60", "foam-40"]),
        ("airtight layer", ["renewable"], ["strand-12"]),  # membranes like any other layer
        ("lining", ["mineral"], ["gypsum-12.5"]),
        ("outer gap board", ["renewable"], ["strand-12"]),  # an origin that is not stated is not let in
        ("outer gap board", ["mineral"], []),
    ],
)
def test_origins(name, origins, kept):
    brief = brief_of({"lining": {"allow": ["gypsum"]}}, materials={"origins": origins})
    assert [each.key for each in allowed(name, brief, CATALOGUE, PRICING)[0]] == kept


@pytest.mark.parametrize(
    ("least", "kept"),
    [
        ("A1", []),
        ("A2", []),
        ("B", ["flock", "flock-fine"]),
        ("C", ["flock", "flock-fine"]),
        ("D", ["flock", "flock-fine", "wool-60"]),
        ("E", ["flock", "flock-fine", "chips", "wool-60"]),
    ],
)
def test_the_least_class_of_reaction_to_fire(least, kept):
    found = held("fill", {"reaction_to_fire": least})
    assert [key for key in found if key in ("flock", "flock-fine", "chips", "wool-60")] == kept


def test_a_material_without_a_class_counts_as_f():
    assert "foam-40" not in held("outer board", {"reaction_to_fire": "E"})
    assert "foam-40" in held("outer board", {"reaction_to_fire": "F"})


@pytest.mark.parametrize(
    ("stated", "counts"),
    [(None, "F"), ("", "F"), ("A1", "A1"), ("A2-s1,d0", "A2"), (" B-s3,d2", "B"), ("Dfl-s1", "F"), ("class 0", "F")],
)
def test_the_class_is_read_without_smoke_and_droplets(stated, counts):
    assert FIRE_CLASSES[Material(key="x", name="x", reaction_to_fire=stated).fire_rank] == counts


# Named things


def test_a_named_product_that_is_left_out_is_told():
    slot = {"outer_board": {"allow": ["none", "foam-40"]}}
    assert refused({"origins": ["renewable", "mineral"]}, **slot) == (
        'slots."outer board": "foam-40" is left out: its origin is fossil; materials.origins lets in renewable, mineral'
    )
    assert refused({"reaction_to_fire": "E"}, **slot) == (
        'slots."outer board": "foam-40" is left out: its reaction to fire is F; materials.reaction_to_fire asks for E'
    )


def test_a_locked_product_that_is_left_out_is_told():
    assert 'slots."lining": "gypsum-12.5" is left out: its origin is mineral' in refused({"origins": ["renewable"]})


def test_a_material_simply_loses_its_products():
    assert held("outer board", {"origins": ["renewable"]}, **{"outer board": {"allow": ["foam", "fibre"]}}) == [
        "fibre-22",
        "fibre-60",
    ]


def test_an_emptied_slot_is_told():
    opened = {"lining": {"allow": ["gypsum"]}}
    assert refused({"origins": ["renewable"]}, **opened) == (
        'slots."lining": nothing is left; [materials] origins = renewable leaves out all that it could hold'
    )
    words = refused({"origins": ["renewable", "mineral"], "reaction_to_fire": "E"}, airtight_layer={"allow": ["foil"]})
    assert words == (
        'slots."airtight layer": nothing is left; [materials] origins = renewable, mineral and reaction_to_fire = "E" '
        "leaves out all that it could hold"
    )
    assert 'slots."fill": nothing is left' in refused(
        {"reaction_to_fire": "D"}, airtight_layer={"allow": ["strand"]}, fill={"allow": ["chips"]}
    )


def test_an_emptied_slot_that_may_be_empty_is_empty():
    brief = brief_of(
        {"outer board": {"allow": ["none", "foam"]}}, materials={"origins": ["renewable", "mineral", "fossil"]}
    )
    assert len(Choices(brief, CATALOGUE, PRICING).options["outer board"]) == 2
    brief = brief.model_copy(
        update={"materials": brief.materials.model_copy(update={"origins": ("renewable", "mineral")})}
    )
    assert [each.key for each in Choices(brief, CATALOGUE, PRICING).options["outer board"]] == ["none"]


def test_ties_and_air_are_not_filtered():
    plates = [each.model_copy(update={"origin": "fossil"} if each.key == "plate" else {}) for each in MATERIALS]
    brief = brief_of(
        {"service fill": {"allow": ["air"]}, "outer frame": {"allow": ["stud-45x120"]}},
        materials={"origins": ["renewable", "mineral"]},
        tie={"product": "plate-12", "height_mm": 200, "vertical_spacing_mm": 1200, "overlap_mm": 50},
    )
    choices = Choices(brief, Catalogue({each.key: each for each in plates}, {}, "p"), PRICING)
    assert choices.tie.products[0].key == "plate-12"
    assert [each.key for each in choices.fills["service fill"]] == ["air"]


# The explorer


def test_offers_show_what_is_left_out_as_off_with_the_reason():
    brief = brief_of({}, materials={"origins": ["renewable", "mineral"]})
    found = {each.slot: {option.key: option for option in each.options} for each in offers(brief, CATALOGUE, PRICING)}
    assert not found["outer board"]["foam-40"].on
    assert (
        found["outer board"]["foam-40"].barred == "its origin is fossil; materials.origins lets in renewable, mineral"
    )
    assert found["outer board"]["fibre-60"].on
    assert found["outer board"]["fibre-60"].barred == ""
    assert all(not option.on for slot in found.values() for option in slot.values() if option.barred)


def test_switching_on_what_is_left_out_does_not_let_it_in():
    brief = brief_of({}, materials={"origins": ["renewable", "mineral"]})
    again = with_allowed(brief, {"outer board": ["fibre-60", "foam-40"]}, offers(brief, CATALOGUE, PRICING))
    assert again.slot("outer board").allow == ("fibre-60",)
    with pytest.raises(InputError, match="nothing is left; switch on at least one"):
        with_allowed(brief, {"outer board": ["foam-40"]}, offers(brief, CATALOGUE, PRICING))
    blind = with_allowed(brief, {"outer board": ["fibre-60", "foam-40"]})
    with pytest.raises(InputError, match='"foam-40" is left out'):
        Choices(blind, CATALOGUE, PRICING)


# The file


def test_wrong_values_are_told_and_right_ones_come_back():
    for materials, words in (
        ({"origins": []}, "materials, origins"),
        ({"origins": ["wooden"]}, "'renewable', 'mineral', 'fossil' or 'metal'"),
        ({"reaction_to_fire": "A"}, "materials, reaction_to_fire = 'A'"),
        ({"reaction_to_fire": "A2-s1,d0"}, "materials, reaction_to_fire = 'A2-s1,d0'"),
        ({"origin": ["mineral"]}, 'nearest: "origins"'),
    ):
        with pytest.raises(InputError) as error:
            brief_of({}, materials=materials)
        assert words in str(error.value)
    brief = brief_of({}, materials={"origins": ["renewable"], "reaction_to_fire": "E"})
    assert parse_brief(brief_to_toml(brief), "again.toml") == brief
    assert LOCKED.keys() <= brief.slots.keys()
