"""The keys of options in files: read back they are what was written, whatever the words in them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.wall.option_key import OptionKey

WORD = st.from_regex(r"[a-z0-9]+(-[a-z0-9.]+){0,3}", fullmatch=True)
SPACING = st.integers(100, 3000).map(float) | st.sampled_from([312.5, 416.7])


@given(WORD, SPACING, st.sampled_from([0.0, 150.0, 300.0]))
def test_members_at_a_spacing_are_read_back(name, spacing, offset):
    key = OptionKey(name, spacing, offset)
    assert OptionKey.parse(str(key)) == key


@given(WORD, WORD, st.just("") | WORD)
def test_a_line_of_batts_is_read_back(material, supplier, first):
    key = OptionKey(material, supplier=supplier, first=first)
    assert OptionKey.parse(str(key)) == key


@pytest.mark.parametrize("text", ["none", "", "osb-9", "45", "a @b", "a @nan"])
def test_what_has_no_such_form_is_a_name(text):
    assert OptionKey.parse(text) == OptionKey(text)
    assert str(OptionKey.parse(text)) == text
