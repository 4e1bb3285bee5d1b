"""The explorer without a browser: workspace, print view, port, headers."""

from __future__ import annotations

import socket
from dataclasses import replace

import pytest

from dashboard.app import build, check_port, listen, serve
from dashboard.wall import facts, panel
from dashboard.wall.print_page import missing_sheet, wall_sheet
from dashboard.workspace import Workspace
from materials.errors import InputError


@pytest.fixture(scope="module")
def client(workspace):
    return build(workspace).server.test_client()


def test_every_wall_of_the_front_can_be_drawn_and_adds_up(workspace):
    source = workspace.source(None)
    row = source.rows[0]
    judged = workspace.wall(None, row["id"])
    assert judged.thickness_mm == pytest.approx(row["thickness_mm"])
    assert judged.cost_per_m2 == pytest.approx(row["cost_per_m2"])
    assert judged.u_value == pytest.approx(row["u_value"])
    for bar in facts.bars(judged, "EUR"):
        assert sum(each.share for each in bar.segments) == pytest.approx(1)
    assert len(facts.key_figures(judged, 10.0, "EUR")) == 5
    assert len(panel.layers(judged, "EUR").children[1].children) == len(judged.wall.layers)


@pytest.mark.parametrize("run", ["../../etc", "0001/../..", "nothing", "9999", "a" * 200, "%00"])
def test_a_run_that_cannot_be_is_missing_not_an_error(workspace, run):
    found = workspace.source(run)
    assert found.status == "missing"
    assert found.message


def test_a_folder_that_is_no_study_is_told_in_words(tmp_path):
    found = Workspace(tmp_path / "nothing", tmp_path / "runs").source(None)
    assert found.status == "missing"
    assert "no study" in found.message


def test_the_print_view(client, workspace):
    wall = workspace.source(None).rows[0]["id"]
    answer = client.get(f"/print?wall={wall}")
    text = answer.get_data(as_text=True)
    assert answer.status_code == 200
    assert "<svg" in text
    assert "Path 1" in text
    assert text.count("Fire, and whatever is not named here, is not checked") == text.count("Racking, uplift") == 1
    assert "Moisture passes" in text
    assert "http" not in text.replace("http://www.w3.org/2000/svg", "")


def test_a_wall_that_is_not_there_has_a_page_too(client):
    answer = client.get("/print?wall=<script>alert(1)</script>")
    assert answer.status_code == 404
    assert "<script" not in answer.get_data(as_text=True)
    assert "names no wall" in missing_sheet("")


def test_hostile_names_stay_text_in_the_print_view(workspace):
    source = workspace.source(None)
    judged = workspace.wall(None, source.rows[0]["id"])
    evil = '"><img src=x onerror=alert(1)>'
    layers = [replace(each, text=evil, product=evil, supplier=evil, role=evil) for each in judged.layers]
    wall = judged.wall.model_copy(update={"name": evil})
    brief = source.brief.model_copy(update={"name": evil})
    text = wall_sheet(replace(judged, wall=wall, layers=layers), evil, replace(source, brief=brief), None)
    assert "<img" not in text


def test_every_answer_keeps_the_page_to_this_machine(client):
    policy = client.get("/").headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy and "script-src 'self' 'sha256-" in policy
    assert "http" not in policy
    assert "unsafe-eval" not in policy


def test_a_port_in_use_is_told_in_words():
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(InputError, match=f"port {port} is in use"):
            listen("127.0.0.1", port)
    with pytest.raises(InputError, match="cannot be opened"):
        listen("127.0.0.1", 70_000)


def test_two_readers_share_nothing_but_the_study(workspace):
    app = build(workspace)
    assert app.layout() is not app.layout()


def test_serving_says_when_it_answers_and_gives_the_port_back(study_folder, tmp_path):
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    check_port(port)

    class Enough(Exception):
        pass

    def ready():
        with socket.create_connection(("127.0.0.1", port), timeout=5):
            raise Enough

    with pytest.raises(Enough):
        serve(study_folder, port, runs_folder=tmp_path, on_ready=ready)
    check_port(port)


def test_a_new_search_takes_what_the_slots_were_set_to(workspace):
    offered = {each.slot: each for each in workspace.slots(None)}
    assert offered["cladding"].locked
    keys = [each.key for each in offered["outer frame"].options][:2]
    run = workspace.search_again(None, {"outer frame": keys})
    try:
        assert workspace.source(run).brief.slot("outer frame").allow == tuple(keys)
        again = {each.slot: each for each in workspace.slots(run)}
        assert [each.key for each in again["outer frame"].options if each.on] == keys
    finally:
        workspace.cancel(run)
    with pytest.raises(InputError, match="nothing is left"):
        workspace.search_again(None, {"outer frame": []})
