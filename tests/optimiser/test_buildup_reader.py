"""The build-up file: what its reader takes, and what it refuses before a word of it is read."""

from __future__ import annotations

import math

import pytest
from written_walls import BOARD, CATALOGUE, FRAME, HEAD, INNER, TWIN, read

from materials.errors import InputError
from optimiser.checks.judge import judge
from optimiser.wall.buildup import read_buildup


def test_a_whole_file_is_read():
    wall = read(TWIN)
    assert [layer.role for layer in wall.layers] == ["sheathing", "outer frame", "gap", "inner frame", "lining"]
    assert wall.thickness_mm == 22 + 145 + 100 + 95 + 12.5
    assert wall.layers[2].tie.height_mm == 200
    assert 0.09 < judge(wall).u_value < 0.13


def test_metal_is_read_but_not_given_a_u_value():
    """Refused with a pointer to a numerical calculation; the wall itself is a wall."""
    for text, what in (
        (FRAME.replace("softwood-c24", "steel-screws"), "layer 1 (outer frame): the frame"),
        (TWIN.replace('"plywood"', '"steel-screws"'), "layer 3 (gap): the tie"),
    ):
        found = judge(read(text))
        assert math.isnan(found.u_value)
        assert found.heat.refused.startswith(f'{what} of "steel-screws" is metal')
        assert found.heat.refused.endswith("a numerical calculation (ISO 10211) is needed")
        assert found.as_json()["heat"]["u_value"] is None


def test_a_missing_file_a_folder_and_bytes(tmp_path):
    (tmp_path / "bytes.toml").write_bytes(b"\xff\xfe\x00name")
    for name, words in (("none.toml", "no such file"), (".", "is a folder"), ("bytes.toml", "cannot be read as UTF-8")):
        with pytest.raises(InputError, match=words):
            read_buildup(tmp_path / name, CATALOGUE)


def test_offsets_a_whole_spacing_apart_are_in_line():
    """A stud's line repeats every spacing: 600 mm on is the next stud."""
    moved = TWIN.replace(INNER, INNER + "offset_mm = 600\n")
    assert judge(read(moved)).u_value == pytest.approx(judge(read(TWIN)).u_value, rel=1e-12)


def test_a_membrane_needs_no_conductivity():
    """Known by its sd, a membrane carries no resistance, whatever its thickness."""
    foil = '[[layer]]\nrole = "airtight layer"\nmaterial = "foil"\nthickness_mm = 0.4\n'
    with_it = judge(read(HEAD + "[materials.foil]\nsd_m = 2\n" + BOARD + foil))
    assert with_it.u_value == pytest.approx(judge(read(HEAD + BOARD)).u_value, rel=1e-12)
