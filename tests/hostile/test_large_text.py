"""Texts that are short to write and long to read: keys of many parts, walls of many layers, lists of many faults."""

from __future__ import annotations

import time

import pytest
from readers import WALL

from materials.catalogue import load_catalogue
from materials.errors import MOST_FAULTS, MOST_VALUES, InputError, parse_toml
from materials.listed.prices import load_price_lists, read_prices
from materials.listed.sheets import MOST_FAULTS_OF_A_LIST
from materials.parsed import parse_json, read_table
from materials.untrusted import bytes_of, check_inside, read_within
from optimiser.wall.buildup import MOST_CROSSED, MOST_LAYERS, parse_buildup

LAYER = '[[layer]]\nrole = "a"\nmaterial = "blown-cellulose"\nthickness_mm = 100\n'
FRAME = '[layer.frame]\nmaterial = "softwood-c24"\nfraction = 0.1\n'
HEAD = 'name = "a"\noutside = "vented"\n'


def refused(read, *words: str) -> None:
    started = time.process_time()
    with pytest.raises(InputError) as error:
        read()
    assert all(each in str(error.value) for each in words), error.value
    assert len(str(error.value)) < 20_000
    assert time.process_time() - started < 5


@pytest.mark.parametrize("part", ["a", '"a b"', "'a'", "a "])
def test_a_key_of_very_many_parts(part):
    refused(
        lambda: parse_toml(f"b = 1\n{'.'.join([part] * 200_000)} = 1", "a.toml"), "a.toml: line 2: a key of more than"
    )
    assert parse_toml('a.b."c d".e = "' + "word. " * 100 + '"', "a.toml")["a"]["b"]["c d"]["e"]


def test_nesting_in_toml_and_json():
    refused(lambda: parse_toml("a = " + "[" * 60 + "]" * 60, "a.toml"), "a.toml: nested too deeply")
    refused(lambda: parse_toml("a = " + "[" * 90_000, "a.toml"), "a.toml: nested too deeply")
    refused(lambda: parse_json(b"[" * 60 + b"]" * 60, "a.json"), "a.json: nested too deeply")
    refused(lambda: parse_json(b'{"a":' * 90_000, "a.json"), "a.json: nested too deeply")


def test_very_many_values():
    refused(lambda: parse_toml(f"a = [{'1,' * (MOST_VALUES + 1)}]", "a.toml"), "a.toml: holds more than")
    assert len(parse_json(b"[" + b"1," * 300_000 + b"1]", "a", 400_000)) == 300_001
    refused(lambda: parse_json(b"[" + b"1," * 300_000 + b"1]", "a", 300_000), "a: holds more than 300000 values")


def test_a_wall_of_very_many_layers():
    catalogue = load_catalogue()
    whole = HEAD + LAYER * MOST_LAYERS
    assert len(parse_buildup(whole, catalogue, "a.toml").layers) == MOST_LAYERS
    refused(
        lambda: parse_buildup(whole + LAYER, catalogue, "a.toml"),
        f"a.toml: layer: expected at most {MOST_LAYERS} values",
    )
    framed = HEAD + (LAYER + FRAME) * MOST_CROSSED
    assert len(parse_buildup(framed, catalogue, "a.toml").layers) == MOST_CROSSED
    refused(lambda: parse_buildup(framed + LAYER + FRAME, catalogue, "a.toml"), "a.toml", "expected at most 10")


def test_very_many_faults_are_told_in_part():
    text = WALL + "[[layer]]\n" * 900
    refused(lambda: parse_buildup(text, load_catalogue(), "a.toml"), "a.toml: layer 6", "more faults")
    assert MOST_FAULTS < 100


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("NaN", "holds NaN; expected numbers"),
        ("[1, -Infinity]", "holds -Infinity"),
        ("1e999", "holds 1e999"),
        ("9" * 301, "holds 999"),
        ('"\\ud800"', "holds half of a sign"),
        ('"\\uDC00"', "holds half of a sign"),
        ("[1,", "line 1, column 4: not JSON"),
        ("", "line 1, column 1: not JSON"),
        ("[1]\n]", "line 2, column 1: not JSON"),
    ],
)
def test_what_is_no_json_of_ours(text, words):
    refused(lambda: parse_json(text.encode(), "a.json"), f"a.json: {words}")


def test_what_is_json_of_ours():
    assert parse_json(b'\xef\xbb\xbf{"a": [1, 1.5, -1e308, null, "\\ud83d\\ude00 \\u00e9"]}', "a") == {
        "a": [1, 1.5, -1e308, None, "😀 é"]
    }
    assert parse_json(b"1" * 300, "a") == int("1" * 300)


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"a,b\n1\n", "row 1 has 1 cells; the header has 2"),
        (b"a,b\n1,2\n1,2,3\n", "row 2 has 3 cells; the header has 2"),
        (b"a,a\n1,2\n", "a column stands there twice"),
        (b'a,b\n1,"2\n', "row 1: not a row of a CSV file"),
        (b"a,b\n1,\xff\n", "line 2: cannot be read as UTF-8 text: byte 7"),
        (b"a,b\n" + b"x" * 200_000 + b",1\n", "row 1: not a row of a CSV file"),
    ],
)
def test_a_table_that_is_none(tmp_path, raw, words):
    (tmp_path / "t.csv").write_bytes(raw)
    refused(lambda: read_table(tmp_path / "t.csv", 1_000_000, "a table"), f"t.csv: {words}")


def test_a_table(tmp_path):
    (tmp_path / "t.csv").write_bytes(b'a,b\n1,"x\ny"\n\n2,\n')
    assert read_table(tmp_path / "t.csv", 100, "a table") == [{"a": "1", "b": "x\ny"}, {"a": "2", "b": ""}]
    refused(lambda: read_table(tmp_path / "t.csv", 10, "a table"), "t.csv: ", "expected at most")


def test_a_file_that_grows_while_it_is_read_is_held_to_its_limit(tmp_path):
    (tmp_path / "a").write_bytes(b"x" * 11)
    assert len(bytes_of(tmp_path / "a", 5)) == 6
    refused(lambda: read_within(tmp_path / "a", 10, "a list"), "expected at most")


@pytest.mark.parametrize("size", ["1e-320", "1e300", "0.001"])
@pytest.mark.parametrize(
    ("key", "bounds"),
    [
        ("thickness_mm = 12", "0.3 to 1000"),
        ("height_mm = 200", "1 to 10000"),
        ("vertical_spacing_mm = 1200", "10 to 10000"),
        ("width_mm = 45", "0.3 to 1000"),
    ],
)
def test_a_member_has_a_size_that_can_be_divided_by(key, bounds, size):
    name, _, _ = key.partition(" ")
    text = WALL.replace(f"\n{key}\n", f"\n{name} = {size}\n", 1)
    assert text != WALL
    refused(lambda: parse_buildup(text, load_catalogue(), "a.toml"), name, f"expected {bounds} mm")


def test_a_list_of_very_many_faults_is_given_up(tmp_path):
    rows = "".join(f"p{at},x,no-material-{at},x,1,m2,EUR\n" for at in range(MOST_FAULTS_OF_A_LIST + 300))
    (tmp_path / "l.csv").write_text("product,name,material,supplier,price,unit,currency\n" + rows, encoding="utf-8")
    faults = read_prices(tmp_path / "l.csv", load_catalogue()).faults
    assert len(faults) == MOST_FAULTS_OF_A_LIST + 1
    assert faults[-1].row == MOST_FAULTS_OF_A_LIST + 2 and "was not read" in str(faults[-1])
    refused(lambda: load_price_lists(["l.csv"], tmp_path, load_catalogue()), "l.csv: row 2", "more faults")


@pytest.mark.parametrize("name", ["x" * 300 + ".csv", "a\0b", "ring"])
def test_a_name_of_a_list_that_no_file_can_have(tmp_path, name):
    (tmp_path / "ring").symlink_to(tmp_path / "ring")
    if name in ("a\0b", "ring"):
        refused(lambda: check_inside(tmp_path / name, tmp_path), "leads out of")
    refused(lambda: read_within(tmp_path / name, 10, "a list"), "expected a list" if "\0" in name else "cannot be read")
