"""What a build-up takes from the brief that judges it, key by key, and what it does not."""

from __future__ import annotations

import pytest
import toy_space as small
import wall_text

from materials.catalogue import load_catalogue
from optimiser.brief.as_judged import as_judged
from optimiser.brief.price_lists import pricing_of
from optimiser.wall.buildup import BuildUp, parse_buildup, to_toml

CLIMATE = small.COLD | {"indoor_temperature_c": 18, "surface_r_inside": 0.11, "surface_r_outside": 0.09}
PLATES = wall_text.STUDS + ", extra_fraction = {share}"


@pytest.fixture
def judged(tmp_path):
    """A wall of studs with more text, as the brief judges it."""
    changes = {"climate": CLIMATE, "loads": small.SOUND["loads"], "framing": {"plates": 3, "height_mm": 2700}}
    brief = small.brief_in(tmp_path, **changes)
    catalogue = load_catalogue()
    pricing = pricing_of(brief, tmp_path, catalogue)[0]

    def judge(more: str = "", outside: str = "vented", studs: str = wall_text.STUDS, element: str = "wall") -> BuildUp:
        head = wall_text.head("mine", f'element = "{element}"\n', outside)
        text = head + wall_text.framed("outer frame", "blown-cellulose", 195, studs) + more
        return as_judged(parse_buildup(text, catalogue, "mine"), brief, pricing, catalogue)

    return judge


def test_conditions_are_taken_key_by_key(judged):
    plain = judged().conditions
    assert (plain.outdoor_rh_percent, plain.indoor_humidity_class) == (tuple(small.COLD["outdoor_rh_percent"]), 4)
    warm = judged(f"[conditions]\noutdoor_temperature_c = {[9] * 12}\n").conditions
    assert warm.outdoor_rh_percent == plain.outdoor_rh_percent and warm.outdoor_temperature_c == (9,) * 12
    assert (warm.indoor_humidity_class, warm.indoor_temperature_c) == (4, 18)
    assert judged("[conditions]\nhumidity_margin = 1.0\n").conditions.indoor_humidity_class == 4
    damp = judged("[conditions]\nindoor_rh_percent = 55\nindoor_temperature_c = 20\n").conditions
    assert damp.indoor_humidity_class is None and damp.indoor_temperature_c == 20
    assert damp.outdoor_temperature_c == plain.outdoor_temperature_c


def test_a_surface_or_load_of_walls_is_not_put_on_others(judged):
    wall, open_wall, roof = judged(), judged(outside="exposed"), judged(element="roof")
    assert (wall.conditions.surface_r_inside, wall.conditions.surface_r_outside) == (0.11, 0.09)
    assert (open_wall.conditions.surface_r_inside, open_wall.conditions.surface_r_outside) == (0.11, None)
    assert (roof.conditions.surface_r_inside, roof.loads) == (None, None)
    assert roof.conditions.outdoor_temperature_c == wall.conditions.outdoor_temperature_c
    assert wall.loads.wind_kn_m2 == 1.2
    assert judged("[loads]\nheight_mm = 2500\n").loads.wind_kn_m2 == 0  # the file's own as a whole


def test_framing_stands_where_the_frames_hold_it_and_adds_nothing(judged):
    share = 3 * 45 / 2700
    held = judged(studs=PLATES.format(share=share))
    assert held.framing.plates == 3 and held.layers[0].frame.extra_fraction == share
    assert judged(studs=PLATES.format(share=share / 2)).framing is None
    assert judged().framing is None


def test_the_wall_as_judged_is_so_again_and_as_a_file(judged):
    once = judged("[conditions]\nindoor_temperature_c = 20\n")
    again = parse_buildup(to_toml(once, load_catalogue()), load_catalogue(), "again")
    assert again.conditions == once.conditions and again.conditions.model_fields_set >= {"indoor_temperature_c"}
    assert again.loads == once.loads


def test_a_material_that_is_like_another_stays_so_in_its_file(tmp_path):
    catalogue = load_catalogue()
    own = '[materials.mine]\nlike = "blown-cellulose"\nvapour_mu = 3\n'
    text = wall_text.head("mine", own) + wall_text.framed("outer frame", "mine", 195)
    wall = parse_buildup(text, catalogue, "mine")
    again = parse_buildup(to_toml(wall, catalogue), catalogue, "again")
    assert again.own_tables == {"mine": {"like": "blown-cellulose", "vapour_mu": 3}}
    assert again.of("mine") == wall.of("mine")
