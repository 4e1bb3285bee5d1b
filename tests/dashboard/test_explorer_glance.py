"""A wall at a glance: the head of the panel by itself, word for word as the panel says it."""

from __future__ import annotations

import pytest

from dashboard.app import build
from dashboard.front.glance import glance
from dashboard.wall import panel
from dashboard.wall.shown import wall_title
from optimiser.search.landmarks import most_balanced, standing_out


@pytest.fixture(scope="module")
def client(workspace):
    return build(workspace).server.test_client()


def test_it_says_what_the_panel_says(client, workspace):
    source = workspace.source(None)
    row = most_balanced(source.rows)
    found = client.get(f"/glance?wall={row['id']}").get_json()
    assert found["name"] == wall_title(row, standing_out(source.rows))
    assert found["in_short"] == row["in_short"]
    judged = workspace.wall(None, row["id"])
    lost = workspace.floor_lost(judged.thickness_mm, source.brief)
    shown = [[part.children for part in each.children] for each in panel.figures(judged, lost, source.currency)]
    assert found["figures"] == shown
    assert found["svg"].startswith("<svg")


@pytest.mark.parametrize("query", ["", "?wall=nobody", "?wall=W-001&run=../..", "?wall=<script>"])
def test_a_wall_that_is_not_there_is_not_found(client, query):
    answer = client.get(f"/glance{query}")
    assert answer.status_code == 404
    assert answer.get_data() == b""


def test_it_is_none_for_a_wall_that_is_none(workspace):
    assert glance(workspace, None, "mine") is None
