"""Declarations damaged by the hundred: read, or refused in words, whatever was changed in them."""

from __future__ import annotations

import copy

from declaration_files import (
    BOARD,
    CARBON,
    FOSSIL,
    MASS,
    flow_xml,
    process_json,
    process_xml,
    write_json,
    write_xml,
    write_zip,
)
from declared_products import BOARD_MATERIAL, product
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from materials.declared.declarations import for_product, left_out, read_declarations
from materials.errors import InputError

SETTINGS = settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
SCENARIOS = {"burning": True, "recycling": False}
SEVERAL = {**BOARD, FOSSIL: {"A1-A3": 200.0, ("C3", "burning"): 4.0, ("C3", "recycling"): 5.0}}


def survives(path):
    """Reads, converts, or refuses with an InputError that can be printed; nothing else."""
    try:
        for each in read_declarations(path):
            declaration = for_product(each, BOARD_MATERIAL, product())
            left_out(each)
            assert declaration.modules["A1-A3"].fossil >= 0
    except InputError as error:
        str(error).encode("utf-8")
        assert path.name in str(error) or "declaration" in str(error)


def originals(tmp_path):
    facts = {"others": {MASS: 250, CARBON: 109.1}, "material": {"gross density": 250}}
    process = process_xml(SEVERAL, scenarios=SCENARIOS)
    return {
        ".xml": write_xml(tmp_path / "o.xml", process).read_bytes(),
        ".json": write_json(tmp_path / "o.json", process_json(SEVERAL, scenarios=SCENARIOS, **facts)).read_bytes(),
        ".zip": write_zip(tmp_path / "o.zip", process, flow_xml(**facts)).read_bytes(),
    }


@SETTINGS
@given(data=st.data(), suffix=st.sampled_from([".xml", ".json", ".zip"]))
def test_bytes_changed_cut_or_added(tmp_path, data, suffix):
    held = bytearray(originals(tmp_path)[suffix])
    for _ in range(data.draw(st.integers(1, 6))):
        at = data.draw(st.integers(0, max(len(held) - 1, 0)))
        change = data.draw(st.sampled_from(["flip", "cut", "insert", "truncate", "repeat"]))
        if change == "flip" and held:
            held[at] = data.draw(st.integers(0, 255))
        elif change == "cut":
            del held[at : at + data.draw(st.integers(1, 40))]
        elif change == "insert":
            held[at:at] = data.draw(st.binary(min_size=1, max_size=8))
        elif change == "truncate":
            del held[at:]
        else:
            held[at:at] = held[at : at + data.draw(st.integers(1, 60))]
    path = tmp_path / f"damaged{suffix}"
    path.write_bytes(held)
    survives(path)


ANYTHING = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.integers(10**320, 10**330)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=12)
    | st.sampled_from(
        ["NaN", "1e308", "-1e308", "1e-308", "", "ND", "\ud800", "2029", FOSSIL, MASS, "A1-A3", "burning"]
    ),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["value", "lang", "a"]), inner, max_size=3)
    ),
    max_leaves=5,
)


def places(root, way=()):
    """Every place in a JSON value."""
    yield way
    inner = root.items() if isinstance(root, dict) else enumerate(root) if isinstance(root, list) else ()
    for key, each in inner:
        yield from places(each, (*way, key))


JSON_PLACES = list(
    places(process_json(SEVERAL, scenarios=SCENARIOS, others={MASS: 250}, material={"gross density": 250}))
)


@SETTINGS
@given(changes=st.lists(st.tuples(st.sampled_from(JSON_PLACES[1:]), ANYTHING), min_size=1, max_size=3))
def test_any_value_in_any_place_of_the_json(tmp_path, changes):
    root = process_json(SEVERAL, scenarios=SCENARIOS, others={MASS: 250}, material={"gross density": 250})
    for way, value in changes:
        parent = root
        for step in way[:-1]:
            try:
                parent = parent[step]
            except (KeyError, IndexError, TypeError):  # an earlier change took the place away
                break
        else:
            if isinstance(parent, dict) or (isinstance(parent, list) and isinstance(way[-1], int)):
                parent[way[-1] if isinstance(parent, dict) else slice(way[-1], way[-1] + 1)] = (
                    copy.deepcopy(value) if isinstance(parent, dict) else [value]
                )
    survives(write_json(tmp_path / "any.json", root))


@SETTINGS
@given(
    root=st.recursive(
        ANYTHING,
        lambda inner: st.dictionaries(
            st.sampled_from(
                [
                    "processInformation",
                    "dataSetInformation",
                    "exchanges",
                    "exchange",
                    "LCIAResults",
                    "LCIAResult",
                    "other",
                    "anies",
                    "UUID",
                    "name",
                    "baseName",
                    "time",
                    "flowProperties",
                ]
            ),
            inner,
            max_size=4,
        ),
    )
)
def test_json_of_any_shape(tmp_path, root):
    survives(write_json(tmp_path / "any.json", root))


WORDS = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs"), exclude_characters="<&"), max_size=12)


@SETTINGS
@given(
    text=WORDS | st.sampled_from(["NaN", "1e308", "-1e308", "1e-308", "", "0", "-5"]),
    place=st.sampled_from(["200.0", "2029", "2024", "RER", "42", "1.0", "A1-A3", "burning", "kg CO2 eq.", "250", "en"]),
)
def test_any_word_in_any_place_of_the_xml(tmp_path, text, place):
    safe = text.replace('"', "")
    process = process_xml(SEVERAL, scenarios=SCENARIOS)
    flow = flow_xml(others={MASS: 250}, material={"gross density": 250})
    survives(write_zip(tmp_path / "any.zip", process.replace(place, safe), flow.replace(place, safe)))
