"""Sound files broken at random, as they come out of the TOML parser: for the readers of build-ups and briefs."""

from __future__ import annotations

from copy import deepcopy

from hypothesis import strategies as st


def anything(numbers: st.SearchStrategy, words: st.SearchStrategy) -> st.SearchStrategy:
    """Any value that a file can hold, and some that none can, nested a little."""
    return st.recursive(
        st.one_of(numbers, words, st.dates(), st.booleans()),
        lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(words, inner, max_size=3)),
        max_leaves=6,
    )


def places(node: object, path: tuple = ()) -> list[tuple]:
    """The path to every value of a parsed file."""
    items = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    return [found for key, value in items for found in [(*path, key), *places(value, (*path, key))]]


@st.composite
def broken(draw, files: st.SearchStrategy[dict], numbers: st.SearchStrategy, words: st.SearchStrategy) -> dict:
    """A sound file with one or two values replaced by anything, taken out, or put where no key is."""
    values = anything(numbers, words)
    raw = deepcopy(draw(files))
    for _ in range(draw(st.integers(1, 2))):
        *way, key = draw(st.sampled_from(places(raw) or [("name",)]))
        node = raw
        for step in way:
            node = node[step]
        what = draw(st.sampled_from(["replace", "replace", "number", "number", "take out", "add"]))
        if what == "take out":
            del node[key]
        elif what == "add" and isinstance(node, dict):
            node[draw(words)] = draw(values)
        else:
            node[key] = draw(numbers if what == "number" else values)
    return raw
