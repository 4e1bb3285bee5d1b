"""The print view of a wall on paper: few pages, sums where they belong, heads that do not touch."""

from __future__ import annotations

import itertools
import re

import pytest

pytestmark = pytest.mark.browser
MOST_PAGES = 5


@pytest.fixture
def sheet(page, address, workspace):
    page.goto(f"{address}/print?wall={workspace.source(None).rows[0]['id']}")
    page.emulate_media(media="print")
    return page


def test_a_wall_takes_few_pages(sheet):
    assert 1 < len(re.findall(rb"/Type\s*/Page\b", sheet.pdf(format="A4"))) <= MOST_PAGES


def test_the_sum_of_the_layers_stands_at_their_end_alone(sheet):
    kind = "getComputedStyle(document.querySelector('.layers tfoot')).display"
    assert sheet.evaluate(kind) == "table-row-group"  # a foot would be printed on every page


def test_heads_of_numbers_keep_apart(sheet):
    ends = sheet.evaluate("""() => [...document.querySelectorAll('.layers th.right')].map(each => {
        const range = document.createRange();
        range.selectNodeContents(each);
        const found = range.getBoundingClientRect();
        return [found.left, found.right];
    })""")
    assert len(ends) == 5
    assert all(after[0] - before[1] >= 8 for before, after in itertools.pairwise(ends))
