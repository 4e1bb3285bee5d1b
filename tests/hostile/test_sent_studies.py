"""A study that somebody sent: never read or written outside of its folder, and its damage told in one message."""

from __future__ import annotations

import csv
import json
import os
from pathlib import Path

import pytest

from materials.errors import InputError
from optimiser.market.stored import BreakEvenRecord
from optimiser.search import files, records, study
from optimiser.search.jobs import Jobs

EVIL = "../../evil"


def change(path: Path, to) -> None:
    """A table or a JSON file with something about it changed."""
    if path.suffix == ".json":
        value = json.loads(path.read_text(encoding="utf-8"))
        path.write_text(json.dumps(to(value) or value), encoding="utf-8")
        return
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    to(rows)
    path.write_text(study.to_csv(rows), encoding="utf-8")


def refused(sent: Path, *words: str) -> None:
    """One message that names all of that."""
    with pytest.raises(InputError) as error:
        study.open_study(sent / "study").check_whole()
    assert all(each in str(error.value) for each in words), error.value
    assert str(error.value).count("\n") == 0


@pytest.mark.parametrize(
    "name", [EVIL, "/etc/passwd", "..", ".", "", "a/b", "a\\b", "a\0b", "x" * 81, "<b>", "W 1", "ü", "W-1\n"]
)
def test_an_id_is_a_name_and_no_path(sent, name):
    change(sent / "study" / "front.csv", lambda rows: rows[0].update(id=name))
    refused(sent, "front.csv: row 1", "id")


def test_nothing_outside_of_a_study_is_read_or_written(sent):
    """The file that the id leads to is there and whole, and still not reached by it."""
    first = study.open_study(sent / "study").rows[0]["id"]
    inside = sent / "study" / "buildups" / f"{first}.toml"
    (sent.parent / "evil.toml").write_bytes(inside.read_bytes())
    change(sent / "study" / "front.csv", lambda rows: rows[0].update(id="../../../evil"))
    before = sorted(sent.parent.rglob("*"))
    refused(sent, "front.csv: row 1: id")
    assert sorted(sent.parent.rglob("*")) == before


@pytest.mark.parametrize("name", ["front.csv", "cloud.csv", "equals.csv", "ruled_out.csv", "brief.toml"])
def test_a_link_that_leads_out_of_a_study_is_refused(sent, name):
    place = sent / "study" / name
    place.rename(sent.parent / name)
    place.symlink_to(sent.parent / name)
    refused(sent, f"{name}: leads out of")


def test_a_build_up_that_leads_out_of_a_study_is_refused(sent):
    opened = study.open_study(sent / "study")
    first = opened.rows[0]["id"]
    place = sent / "study" / "buildups" / f"{first}.toml"
    place.rename(sent.parent / "wall.toml")
    place.symlink_to(sent.parent / "wall.toml")
    with pytest.raises(InputError, match=rf"{first}.toml: leads out of"):
        opened.buildup(first)


@pytest.mark.parametrize("outside", ["../../secret.csv", "/etc/passwd", "prices/../../../secret.csv"])
@pytest.mark.parametrize("field", ["lists", "declarations"])
def test_a_brief_of_a_study_names_no_file_outside(sent, outside, field):
    place = sent / "study" / "brief.toml"
    text = place.read_text(encoding="utf-8")
    named = f'[prices]\n{field} = ["{outside}"]\n' + (
        'lists = ["prices/1-toy.csv"]\n' if field == "declarations" else ""
    )
    head, _, tail = text.partition("[prices]")
    rest = tail[tail.index("\n[") :]
    place.write_text(head + named + rest, encoding="utf-8")
    refused(sent, "leads out of", "expected a file within it")


def test_a_brief_of_a_study_names_no_weather_file(sent):
    place = sent / "study" / "brief.toml"
    text = place.read_text(encoding="utf-8")
    head, _, tail = text.partition("[climate]")
    place.write_text(f'{head}[climate]\nepw = "../../town.epw"\n{tail[tail.index(chr(10) + "[") :]}', encoding="utf-8")
    refused(sent, "brief.toml: climate", "epw")


DAMAGE = {
    "study.json": (
        (lambda raw: b"\xff" + raw, "line 1: cannot be read as UTF-8 text: byte 1"),
        (lambda raw: b"[" * 100_000, "nested too deeply"),
        (lambda raw: raw[: len(raw) // 2], "not JSON"),
        (lambda raw: raw.replace(b'"complete": true', b'"complete": "yes"'), "complete"),
        (lambda raw: raw.replace(b'"share": ', b'"share": 1e999, "other": '), "holds 1e999"),
        (lambda raw: raw.replace(b'"share": ', b'"share": NaN, "other": '), "holds NaN"),
        (lambda raw: raw.replace(b'"still": null', b'"still": "x"', 1), "still"),
        (lambda raw: raw.replace(b'"space_size": ', b'"space_size": -'), "space_size"),
        (lambda raw: raw.replace(b'"stopped": "', b'"stopped": "\\ud800'), "half of a sign"),
    ),
    "cloud.csv": (
        (lambda raw: raw[:200] + b"\xff" + raw[200:], "cannot be read as UTF-8"),
        (lambda raw: raw.rstrip(b"\n").rpartition(b",")[0], "cells; the header has"),
        (lambda raw: raw.replace(b"thickness_mm", b"thick"), "the column thickness_mm is missing"),
        (lambda raw: raw.replace(b"\n0.13", b"\nnan", 1), "target = 'nan': expected"),
        (lambda raw: raw + b'"', "not a row of a CSV file"),
    ),
    "ruled_out.csv": (
        (lambda raw: raw[:20] + b"\xc3" + raw[20:], "cannot be read as UTF-8"),
        (lambda raw: raw.rstrip(b"\n").rpartition(b",")[0], "cells; the header has"),
        (lambda raw: raw.replace(b"reason", b"why", 1), "the column reason is missing"),
        (lambda raw: raw.replace(b",0.1", b",-0.1", 1), "target = '-0.1"),
    ),
    "equals.csv": (
        (lambda raw: raw + b"\xff", "cannot be read as UTF-8"),
        (lambda raw: raw + b"short\n", "1 cells; the header has"),
        (lambda raw: raw.replace(b"id", b"name", 1), "the column id is missing"),
    ),
}


@pytest.mark.parametrize(("name", "at"), [(name, at) for name, ways in DAMAGE.items() for at in range(len(ways))])
def test_damage_is_told_with_its_place(sent, name, at):
    way, words = DAMAGE[name][at]
    place = sent / "study" / name
    raw = place.read_bytes()
    place.write_bytes(way(raw))
    assert place.read_bytes() != raw
    refused(sent, f"{name}: ", words)


@pytest.mark.parametrize(
    ("key", "value"),
    [
        *(
            (key, value)
            for key in records.ALWAYS
            for value in ("NaN", "inf", "-inf", "-1e308", "1e308", "", "thick", "1,5")
        ),
        ("thickness_mm", "0"),
        ("u_value", "-0.1"),
        ("stability", "1.01"),
        ("equal_count", "0"),
        ("equal_count", "1.5"),
        ("equal_count", "9" * 400),
        ("floor_area_lost_m2", "nan"),
        ("u_numeric", "-1"),
    ],
)
def test_a_figure_that_is_none_is_refused(sent, key, value):
    change(sent / "study" / "front.csv", lambda rows: rows[1].update({key: value}))
    refused(sent, "front.csv: row 2", key)


@pytest.mark.parametrize("key", [*records.ALWAYS, "id", "in_short"])
def test_a_column_that_is_missing_is_told(sent, key):
    change(sent / "study" / "front.csv", lambda rows: [row.pop(key) for row in rows])
    refused(sent, "front.csv: row 1", f"{key} is missing")


RUNS = {
    "state.json": (
        (lambda value: value.update(status="well"), "status"),
        (lambda value: value.update(progress=[1]), "progress"),
        (lambda value: value["progress"].update(settled="all"), "progress, settled"),
        (lambda value: value.update(pid="1"), "pid"),
        (lambda value: [1], "state.json"),
    ),
    "partial.json": (
        (lambda rows: rows[1].update(thickness_mm=-1e308), "row 2: thickness_mm"),
        (lambda rows: rows[1].update(id=EVIL), "row 2: id"),
        (lambda rows: rows[1].update(cladding=["a"]), "row 2: cladding"),
        (lambda rows: rows[1].pop("u_value"), "row 2: u_value is missing"),
        (lambda rows: {"a": 1}, "expected a list of walls"),
        (lambda rows: [None], "row 1: expected a wall"),
    ),
}


@pytest.mark.parametrize(("name", "at"), [(name, at) for name, ways in RUNS.items() for at in range(len(ways))])
def test_damage_of_a_run_is_told_with_its_place(sent, name, at):
    from dashboard.workspace import Workspace

    way, words = RUNS[name][at]

    def to(value):
        changed = way(value)
        return changed if isinstance(changed, list) or (isinstance(changed, dict) and "a" in changed) else None

    change(sent / "study-runs" / "0001" / name, to)
    with pytest.raises(InputError) as error:
        Jobs(sent / "study-runs").state("0001")
    assert f"{name}: " in str(error.value) and words in str(error.value)
    source = Workspace(sent / "study", sent / "study-runs").source("0001")
    assert source.status == "missing" and words in source.message


def test_a_comparison_that_nobody_wrote_is_told(sent):
    from optimiser.market.suppliers import stored_fronts

    opened = study.open_study(sent / "study")
    assert stored_fronts(opened) is not None

    def damage(value):
        next(iter(value["fronts"].values()))["fronts"][0]["share"] = "all"

    change(sent / "study" / files.SUPPLIERS, damage)
    with pytest.raises(InputError, match=r"suppliers.json: fronts.*share"):
        stored_fronts(opened)


# -- in the explorer


@pytest.mark.parametrize("reason", ["{}", "{0}", "{target", "%s", "{filled.x}"])
def test_a_reason_of_a_proof_is_shown_as_it_stands(reason):
    from dashboard.front.proof_words import proof_lines

    proof = {"target": 0.1, "share": 1.0, "evaluated": 1, "excluded": {reason: 2}}
    lines = proof_lines({"space_size": 3}, proof, "EUR")
    assert any(words == f"were excluded by {reason}." for _, words in lines)


def answers(sent: Path) -> dict[str, tuple[int, str]]:
    """Status and text of the pages of the first wall."""
    from dashboard.app import create_app

    first = next(csv.DictReader((sent / "study" / "front.csv").open(encoding="utf-8")))["id"]
    client = create_app(sent / "study", sent / "study-runs").server.test_client()
    pages = {page: client.get(f"/{page}?wall={first}") for page in ("print", "glance", "handover")}
    return {page: (each.status_code, each.get_data(as_text=True)) for page, each in pages.items()}


@pytest.mark.parametrize("damage", ["gone", "cut", "bytes", "folder"])
def test_a_damaged_build_up_is_a_page_that_says_so(sent, damage):
    first = study.open_study(sent / "study").rows[0]["id"]
    place = sent / "study" / "buildups" / f"{first}.toml"
    raw = place.read_bytes()
    place.unlink()
    if damage == "folder":
        place.mkdir()
    elif damage != "gone":
        place.write_bytes(raw[:70] if damage == "cut" else b"\xff" + raw)
    for page, (status, text) in answers(sent).items():
        assert status == 422, (page, text)
        assert f"{first}.toml" in text and "Cannot be shown" in text


def test_a_damaged_build_up_is_told_in_the_panel(sent):
    """As the page asks for it: the name of the wall is where the message stands, and nothing else is drawn."""
    from dashboard.app import create_app

    first = study.open_study(sent / "study").rows[0]["id"]
    os.remove(sent / "study" / "buildups" / f"{first}.toml")
    app = create_app(sent / "study", sent / "study-runs")
    name = next(key for key in app.callback_map if "wall-name.children" in key and "svg.data" in key)
    outputs = [{"id": each.split(".")[0], "property": each.split(".")[1]} for each in name.strip(".").split("...")]
    asked = {
        "output": name,
        "outputs": outputs,
        "inputs": [
            {"id": "wall", "property": "data", "value": first},
            {"id": "base", "property": "data", "value": "x"},
        ],
        "state": [
            {"id": key, "property": at, "value": None}
            for key, at in (("mine", "data"), ("run", "data"), ("target", "value"))
        ],
        "changedPropIds": ["wall.data"],
    }
    answer = app.server.test_client().post("/_dash-update-component", json=asked)
    assert answer.status_code == 200
    assert f"{first}.toml: no such file" in answer.get_json()["response"]["wall-name"]["children"]


@pytest.mark.parametrize("name", [*DAMAGE, "front.csv"])
def test_a_damaged_study_is_one_message_in_the_explorer(sent, name):
    from dashboard.workspace import Workspace

    (sent / "study" / name).write_bytes(b"\xff\xfe" + b"[" * 1000)
    source = Workspace(sent / "study", sent / "study-runs").source(None)
    assert (source.status, source.study) == ("missing", None)
    assert name in source.message


@pytest.mark.parametrize("name", ["front.csv", "cloud.csv", "ruled_out.csv", "study.json"])
def test_serve_refuses_a_damaged_study_before_it_opens_a_port(sent, name, monkeypatch, capsys):
    import sys

    from optimiser.command import cli

    (sent / "study" / name).write_bytes(b"\xff")
    monkeypatch.setattr(sys, "argv", ["wallfront", "serve", str(sent / "study"), "--no-browser"])
    with pytest.raises(SystemExit) as end:
        cli.main()
    out, err = capsys.readouterr()
    assert (end.value.code, out) == (2, "")
    assert err.startswith("wallfront: ") and name in err and "Traceback" not in err


def test_a_break_even_value_stands_beside_todays():
    whole = {"product": "p", "name": "p", "supplier": "s", "lever": "price", "unit": "EUR/m2", "slots": [], "moved": []}
    whole |= {"today": 2.0, "at": 1.0, "wall": None, "reason": "", "change": -0.5, "in_short": ""}
    assert BreakEvenRecord.model_validate(whole).at == 1.0
    with pytest.raises(ValueError, match="today beside at"):
        BreakEvenRecord.model_validate(whole | {"today": None})
