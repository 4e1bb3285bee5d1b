"""A reader new to it: the thinnest wall, three kept and laid side by side, what the house loses, in a dozen clicks."""

from __future__ import annotations

import time

import pytest
from looking import until

pytestmark = pytest.mark.browser

MOST_CLICKS, MOST_SECONDS = 12, 120
SPOT = """(words) => {
  const plot = document.querySelector('#plot .js-plotly-plot'), layout = plot._fullLayout;
  const label = plot.layout.annotations.find((each) => each.text.split(' · ').includes(words));
  const box = plot.getBoundingClientRect();
  return [box.left + layout._size.l + layout.xaxis.d2p(label.x), box.top + layout._size.t + layout.yaxis.d2p(label.y)];
}"""


class Reader:
    """Somebody with a pointer, whose clicks are counted."""

    def __init__(self, page) -> None:
        self.page, self.clicks = page, 0

    def on(self, what: str) -> None:
        self.page.click(what)
        self.clicks += 1

    def on_the_point_called(self, words: str) -> None:
        self.page.mouse.click(*self.page.evaluate(SPOT, words))
        self.clicks += 1


def test_the_way_from_the_front_to_what_the_house_loses(study_folder, tmp_path, page):
    from serving import answering

    from dashboard.workspace import Workspace

    started = time.monotonic()
    own = Workspace(study_folder, tmp_path / "runs")
    with answering(own) as address:
        page.goto(address)
        page.wait_for_selector("#drawing svg")
        until(page, "document.querySelector('#ring')?.hidden === false")
        reader = Reader(page)
        for count, words in enumerate(("thinnest", "most balanced", "lowest carbon"), 1):
            before = page.inner_text("#wall-name")
            reader.on_the_point_called(words)
            until(page, f"document.querySelector('#wall-name').innerText != {before!r}")
            until(page, "document.querySelector('#keep').textContent == 'Keep in shortlist'")
            reader.on("#keep")
            until(page, f"document.querySelectorAll('#shortlist-rows tbody tr').length == {count}")
        reader.on("#view-compare")
        until(page, "document.querySelectorAll('#compare-table thead th').length >= 3")
        told = page.inner_text("#compare-table")
    kept = [each.wall for each in own.decisions.board().shortlist]
    rows = {row["id"]: row for row in own.source(None).rows}
    thinnest = min(row["thickness_mm"] for row in rows.values())
    assert rows[kept[0]]["thickness_mm"] == thinnest
    assert "floor area lost" in told
    for wall in kept:
        assert f"{rows[wall]['floor_area_lost_m2']:.1f}" in told or f"{rows[wall]['floor_area_lost_m2']:.2f}" in told
    assert reader.clicks <= MOST_CLICKS and time.monotonic() - started < MOST_SECONDS
