"""The build-up file at random: judged or refused in words, and a wall written and read again is the same wall."""

from __future__ import annotations

import json
import math

import pytest
from any_buildup import FILES, NUMBERS, VALUES, WORDS
from broken_files import broken
from hypothesis import given, settings
from hypothesis import strategies as st
from written_walls import BOARD, CATALOGUE, HEAD, LINING, TWIN, read, said

from materials.errors import InputError
from optimiser.checks.judge import Judged, judge
from optimiser.wall.buildup import BuildUp, buildup_from, to_toml


def judged(raw: dict) -> Judged | None:
    """The judgement of a parsed file; None where it is refused in words."""
    try:
        return judge(buildup_from(raw, CATALOGUE, "w.toml"))
    except InputError as error:
        assert str(error)
        return None


@pytest.mark.filterwarnings("error")
@settings(max_examples=400, deadline=None)
@given(st.one_of(FILES, broken(FILES, NUMBERS, WORDS)))
def test_any_file_is_judged_or_refused_in_words(raw):
    """No other exception, no warning of the arithmetic, no U-value that is not a number without its reason."""
    found = judged(raw)
    if found is not None:
        assert found.heat.refused or 0 < found.u_value < math.inf
        json.dumps(found.as_json(), allow_nan=False)


@settings(max_examples=200, deadline=None)
@given(st.dictionaries(st.one_of(WORDS, st.sampled_from(["layer", "materials", "name", "self"])), VALUES, max_size=4))
def test_any_table_at_all(raw):
    judged(raw)


@settings(max_examples=200, deadline=None)
@given(st.one_of(st.text(max_size=60), st.text("[]{}=\"'.,0123456789e+-layerx \n#", max_size=60)))
def test_any_text_at_all(text):
    """No text gets past the reader: none this short is a whole wall."""
    assert said(text)


def test_deep_nesting_is_refused():
    assert "nested too deeply" in said("x = " + 5000 * "[" + 5000 * "]")


def close(one: object, two: object) -> bool:
    if isinstance(one, dict):
        return one.keys() == two.keys() and all(close(one[key], two[key]) for key in one)
    if isinstance(one, list | tuple):
        return len(one) == len(two) and all(close(*pair) for pair in zip(one, two, strict=True))
    return one == pytest.approx(two, rel=1e-8, abs=1e-12) if isinstance(one, float) else one == two


def assert_same_when_read_again(wall: BuildUp) -> None:
    again = read(to_toml(wall, CATALOGUE))
    assert close(judge(wall).as_json(), judge(again).as_json())
    assert close(wall.model_dump(exclude={"materials"}), again.model_dump(exclude={"materials"}))


@settings(max_examples=200, deadline=None)
@given(FILES)
def test_written_and_read_again(raw):
    found = judged(raw)
    if found is not None and found.heat.refused is None and plain_numbers(raw):
        assert_same_when_read_again(found.wall)


def plain_numbers(raw: object) -> bool:
    """Whether all numbers are of a size that a file of ten decimals carries."""
    if isinstance(raw, dict | list | tuple):
        return all(plain_numbers(each) for each in (raw.values() if isinstance(raw, dict) else raw))
    return not isinstance(raw, float) or raw == 0 or 1e-2 <= abs(raw) < 1e6


EVERYTHING = (
    TWIN.replace(HEAD, HEAD + "[materials.mine]\nlike = 'blown-cellulose'\nconductivity_w_mk = 0.036\n")
    .replace('role = "gap"\nmaterial = "blown-cellulose"', 'role = "gap"\nmaterial = "mine"')
    .replace(LINING, "extra_fraction = 0.04\n" + LINING)
    + '[corrections]\nair_gap_level = 1\nair_gap_layer = "gap"\n'
    + "[[corrections.point]]\nnumber_per_m2 = 2\nchi_w_k = 0.001\n"
    + "[conditions]\nindoor_temperature_c = 21\nsurface_r_outside = 0.1\n[loads]\npermanent_kn_m = 9\n"
)


def test_a_file_with_everything_is_written_and_read_again():
    assert_same_when_read_again(read(EVERYTHING))


def test_loads_of_no_size_stay():
    """[loads] with nothing but defaults is still there when written and read again."""
    assert read(to_toml(read(HEAD + BOARD + "[loads]\n"), CATALOGUE)).loads is not None
