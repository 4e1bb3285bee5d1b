"""Suppliers' lists in the explorer: uploads read apart, faults told, good ones searched with."""

from __future__ import annotations

import csv
import io
import sys
import time
import zipfile
from pathlib import Path

import pytest

import materials
from dashboard.app import build
from dashboard.pricelists import lists, uploads
from dashboard.pricelists.uploads import Uploads, kind_of, safe_name
from materials.errors import InputError
from materials.listed.prices import parse_prices

DEMO = Path(materials.__file__).parent / "data" / "demo"
HEAD = "product,name,material,supplier,price,unit,currency,thickness_mm\n"
GOOD = (
    HEAD + "tv-cellulose,cellulose of Tarn,blown-cellulose,Tarn Vale,0.05,kg,EUR,\n"
    "tv-osb-9,OSB 9 of Tarn,osb,Tarn Vale,3.10,m2,EUR,9\n"
).encode()
BROKEN = ("cheap", "bucket", "no-such-board", "EURO", "-3")
PLANTED = 20
FAULTY = (
    HEAD
    + "".join(
        f"p{row},board,{'no-such-board' if row % 5 == 2 else 'osb'},S,{'cheap' if row % 5 == 0 else 4},"
        f"{'bucket' if row % 5 == 1 else 'm2'},{'EURO' if row % 5 == 3 else 'EUR'},{-3 if row % 5 == 4 else 9}\n"
        for row in range(PLANTED)
    )
).encode()
ENTITIES = (
    b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "bbbbbbbb"><!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;">]><a>&c;&c;&c;</a>'
)


def bomb() -> bytes:
    """A workbook of some kilobytes that unpacks to 400 MB."""
    data = io.BytesIO()
    with (
        zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive,
        archive.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as part,
    ):
        for _ in range(400):
            part.write(b" " * 1_000_000)
    return data.getvalue()


@pytest.fixture
def kept(tmp_path) -> Uploads:
    return Uploads(tmp_path / "uploads")


def one(kept: Uploads, name: str, data: bytes) -> uploads.Upload:
    keys, said = kept.take([(name, data)])
    assert not said
    return kept.get(keys[-1])


def test_a_good_list_is_read_and_a_faulty_one_tells_all_its_faults(kept):
    found = one(kept, "tarn.csv", GOOD)
    assert found.good
    assert found.keys == {"tv-cellulose", "tv-osb-9"}
    assert found.suppliers == ("Tarn Vale",)
    bad = one(kept, "faulty.csv", FAULTY)
    assert not bad.good
    assert bad.fault_count == len(bad.faults) == PLANTED
    assert sorted(each["row"] for each in bad.faults) == list(range(2, PLANTED + 2))
    assert {each["value"] for each in bad.faults} == set(BROKEN)
    assert all(each["column"] and each["expected"] for each in bad.faults)


def test_a_list_with_faults_can_not_be_searched_with(kept, small_brief):
    good, bad = one(kept, "tarn.csv", GOOD), one(kept, "faulty.csv", FAULTY)
    with pytest.raises(InputError, match=r"faulty\.csv: has faults, and a list with faults is not used"):
        lists.brief_with(small_brief, [(good, lists.BESIDE), (bad, lists.BESIDE)])


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("large.csv", lambda: b"product,name\n" + b"x" * 20_100_000, "20.1 MB; expected at most 20 MB"),
        ("bomb.xlsx", bomb, "unpacks to 400 MB"),
        ("hostile.xml", ENTITIES, "document type or entity"),
        ("nothing.csv", b"", "is empty"),
        ("notes.pdf", b"%PDF", "expected a price list"),
        ("columns.csv", b"a;b\n1;2\n", "no header row"),
        ("text.xlsx", b"not a workbook", "not an .xlsx workbook"),
        ("half.zip", b"PK\x03\x04half", "half.zip"),
    ],
)
def test_what_cannot_be_read_is_refused_in_words_and_soon(kept, name, data, words):
    data = data() if callable(data) else data
    began = time.monotonic()
    keys, said = kept.take([(name, data)])
    spent = time.monotonic() - began
    told = said or [kept.get(keys[0]).words]
    assert len(told) == 1
    assert words in told[0]
    assert name in told[0]
    assert str(kept.home) not in told[0]
    assert not any(kept.get(key).good for key in keys)
    assert spent < 5.0  # a process of its own starts in about a quarter of a second where the machine is idle


def test_a_file_that_takes_too_long_is_given_up(kept, monkeypatch):
    monkeypatch.setattr(uploads, "SECONDS", 0.02)
    assert "given up after" in one(kept, "tarn.csv", GOOD).words


def test_a_reader_that_dies_is_told_in_words(kept, monkeypatch):
    monkeypatch.setattr(sys, "executable", "/bin/false")
    found = one(kept, "tarn.csv", GOOD)
    assert "more memory or time" in found.words
    assert not found.good


def test_a_mapping_comes_with_its_list_or_after_it(kept):
    name, mapping = "corvane-sawmill.xlsx", "corvane-sawmill.toml"
    keys, said = kept.take([(each, (DEMO / each).read_bytes()) for each in (name, mapping)])
    assert not said
    assert [kept.get(key).good for key in keys] == [True]
    assert kept.get(keys[0]).mapping == mapping
    alone = one(kept, name, (DEMO / name).read_bytes())
    assert not alone.good
    after, said = kept.take([(mapping, (DEMO / mapping).read_bytes())], [alone.key])
    assert after == [alone.key]
    assert not said
    assert kept.get(alone.key).good
    _, said = kept.take([("other.toml", b"")], [])
    assert "is empty" in said[0]
    _, said = kept.take([("other.toml", b"skip_rows = 1\n")], [])
    assert "belongs to no list" in said[0]


def test_declarations_are_read_with_the_key_that_products_name_them_by(kept):
    name = "blown-cellulose-declared.json"
    found = one(kept, name, (DEMO / name).read_bytes())
    assert found.good
    assert "blown-cellulose-declared" in found.declared
    there = [lists.ListFacts("a.csv", ())]
    assert lists.naming(there, [found]) == {}
    part = str(lists.upload_part(found, there, {"blown-cellulose-declared": 2}))
    assert "named by 2 products" in part
    assert "no product on the lists names it" in str(lists.upload_part(found, there, {}))


@pytest.mark.parametrize(
    ("name", "safe"),
    [
        ("tarn.csv", "tarn.csv"),
        ("../../etc/passwd.csv", "passwd.csv"),
        ("..\\..\\list.XLSX", None),
        ("...csv", None),
        ("a/b\0c.csv", None),
        ("x" * 500 + ".csv", "x" * 60 + ".csv"),
        ("Preise März (neu).csv", "Preise März _neu_.csv"),
    ],
)
def test_a_file_name_is_never_a_path(kept, name, safe):
    made = safe_name(Path(name).name)
    assert safe is None or made == safe
    assert "/" not in made
    assert "\\" not in made
    assert not made.startswith(".")
    keys, _ = kept.take([(name, GOOD)])
    for key in keys:
        assert kept.get(key).path.parent == kept.home / key
        assert kept.get(key).path.is_file()


@pytest.mark.parametrize("key", ["..", "../" * 9, "a" * 24, "", None, 3, "x/y", "\0" * 24])
def test_nobody_finds_an_upload_without_its_key(kept, key):
    one(kept, "tarn.csv", GOOD)
    assert kept.get(key) is None
    kept.drop(str(key))
    assert len(list(kept.home.iterdir())) == 1


def test_old_uploads_are_forgotten(kept, monkeypatch):
    first = one(kept, "tarn.csv", GOOD)
    monkeypatch.setattr(uploads, "MOST_KEPT", 1)
    second = one(kept, "tarn.csv", GOOD)
    third = one(kept, "tarn.csv", GOOD)
    assert kept.get(first.key) is None
    assert kept.get(second.key) is not None
    monkeypatch.setattr(uploads, "KEPT_SECONDS", -1)
    kept.take([])
    assert kept.get(third.key) is None


def test_kinds_are_told_by_suffix():
    assert kind_of("a.CSV", 10) == ("list", "")
    assert kind_of("a.toml", 10) == ("mapping", "")
    assert kind_of("a.zip", 10) == ("declarations", "")
    assert "at most 0.2 MB" in kind_of("a.toml", 10_000_000)[1]


def test_lists_take_their_place_in_the_brief(kept, small_brief):
    found = one(kept, "tarn.csv", GOOD)
    beside = lists.brief_with(small_brief, [(found, lists.BESIDE)])
    assert beside.prices.lists == (*small_brief.prices.lists, str(found.path))
    first = small_brief.prices.lists[0]
    instead = lists.brief_with(small_brief, [(found, first)])
    assert instead.prices.lists == (str(found.path), *small_brief.prices.lists[1:])
    with pytest.raises(InputError, match="replaced already"):
        lists.brief_with(small_brief, [(found, first), (found, first)])
    prices = small_brief.prices.model_copy(update={"suppliers": ("Hollin Timber",)})
    choosy = small_brief.model_copy(update={"prices": prices})
    assert lists.brief_with(choosy, [(found, lists.BESIDE)]).prices.suppliers == ("Hollin Timber", "Tarn Vale")


def test_a_list_of_the_same_products_goes_in_their_place(kept, workspace):
    there = workspace.lists(None)
    name = "loomfield-fill.csv"
    found = one(kept, name, (DEMO / name).read_bytes())
    assert lists.shown_list(lists.usual_place(found, there)) == name
    assert lists.usual_place(one(kept, "tarn.csv", GOOD), there) == lists.BESIDE
    with pytest.raises(InputError, match="stands in"):
        workspace.plan(None, [(found, lists.BESIDE)])


def test_a_plan_tells_where_new_products_may_stand(kept, workspace):
    found = workspace.plan(None, [(one(kept, "tarn.csv", GOOD), lists.BESIDE)])
    by_slot = {each["slot"]: each for each in found["slots"]}
    assert by_slot["fill"]["on"] == 1
    assert (by_slot["sheathing"]["on"], by_slot["sheathing"]["off"]) == (0, 1)
    said = " ".join(lists.plan_words(found))
    assert "fill (1)" in said
    assert "Not let in yet: sheathing (1)" in said
    foreign = one(kept, "foreign.csv", GOOD.replace(b"EUR", b"CHF"))
    with pytest.raises(InputError, match="CHF"):
        workspace.plan(None, [(foreign, lists.BESIDE)])


def finished(workspace, run: str):
    until = time.monotonic() + 120
    while (source := workspace.source(run)).alive and time.monotonic() < until:
        time.sleep(0.2)
    return source


def test_a_search_with_a_list_changes_the_front_and_keeps_the_list(study_folder, tmp_path):
    from dashboard.workspace import Workspace

    workspace = Workspace(study_folder, tmp_path / "runs")
    keys, _ = workspace.uploads.take([("tarn.csv", GOOD)])
    found = workspace.uploads.get(keys[0])
    source = finished(workspace, workspace.search_with(None, [(found, lists.BESIDE)]))
    assert source.status == "done"
    assert any("tv-cellulose" in map(str, row.values()) for row in source.rows)
    assert [row["cost_per_m2"] for row in source.rows] != [row["cost_per_m2"] for row in workspace.source(None).rows]
    workspace.uploads.drop(found.key)
    shown = [each.shown for each in workspace.lists(source.run)]
    assert "tarn.csv" in shown
    assert len(workspace.source(source.run).study.pricing.products) > len(workspace.source(None).study.pricing.products)


@pytest.fixture
def client(study_folder, tmp_path):
    from dashboard.workspace import Workspace

    return build(Workspace(study_folder, tmp_path / "runs")).server.test_client()


def post(client, name: str, data: bytes, **headers):
    sent = {"file": (io.BytesIO(data), name)}
    headers = {"X-Requested-By": "wallfront", "Host": "127.0.0.1", **headers}
    return client.post("/lists", data=sent, headers=headers, content_type="multipart/form-data")


def test_the_address_takes_files_from_its_own_page_alone(client):
    answer = post(client, "tarn.csv", GOOD)
    assert answer.status_code == 200
    assert len(answer.json["kept"]) == 1
    refused = post(client, "tarn.csv", GOOD, **{"X-Requested-By": ""})
    assert refused.status_code == 403
    assert refused.json["kept"] == []


def test_a_request_too_large_is_refused_in_words(client):
    answer = post(client, "large.csv", b"x" * 40_000_000)
    assert answer.status_code == 413
    assert "read them one after the other" in answer.get_data(as_text=True)


@pytest.fixture
def choose(tmp_path):
    """Choose a file in the strip as a reader does."""

    def chosen(page, name: str, data: bytes) -> None:
        (tmp_path / name).write_bytes(data)
        with page.expect_file_chooser() as chooser:
            page.locator("#lists-choose").click()
        chooser.value.set_files(tmp_path / name)

    return chosen


@pytest.fixture
def own_address(study_folder, tmp_path):
    from serving import answering

    from dashboard.workspace import Workspace

    with answering(Workspace(study_folder, tmp_path / "runs")) as found:
        yield found


@pytest.mark.browser
def test_a_list_with_faults_shows_all_of_them_and_starts_nothing(page, own_address, choose):
    page.goto(own_address)
    page.locator("#lists-strip > summary").click()
    page.wait_for_selector("#lists-current table")
    choose(page, "faulty.csv", FAULTY)
    page.wait_for_selector(".faults-table")
    assert page.locator(".faults-table tbody tr").count() == PLANTED
    assert page.locator(".upload-head").inner_text().startswith("faulty.csv")
    assert "20 faults" in page.locator(".upload-head").inner_text()
    assert page.locator("#lists-search").is_hidden()
    page.get_by_role("button", name="Take it away").click()
    page.wait_for_selector(".upload-part", state="detached")


@pytest.mark.browser
@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("large.csv", lambda: b"x" * 20_500_000, "large.csv: 20.5 MB; expected at most 20 MB"),
        ("bomb.xlsx", bomb, "unpacks to 400 MB"),
        ("hostile.xml", ENTITIES, "document type or entity"),
    ],
)
def test_a_hostile_file_gets_an_answer_in_words(page, own_address, choose, name, data, words):
    page.goto(own_address)
    page.locator("#lists-strip > summary").click()
    page.wait_for_selector("#lists-current table")
    choose(page, name, data() if callable(data) else data)
    page.get_by_text(words).wait_for(timeout=5_000)
    assert page.locator("#lists-search").is_hidden()


@pytest.mark.browser
def test_a_good_list_is_searched_with_and_nobody_else_sees_it_before(page, chromium, own_address, choose):
    page.goto(own_address)
    page.wait_for_selector("#table .ag-row")
    page.locator("#lists-strip > summary").click()
    choose(page, "tarn.csv", GOOD)
    page.get_by_text("Products of these lists that may stand in the wall").wait_for()
    assert "fill (1)" in page.locator("#lists-plan").inner_text()
    other = chromium.new_context()
    tab = other.new_page()
    tab.goto(own_address)
    tab.locator("#lists-strip > summary").click()
    tab.wait_for_selector("#lists-current table")
    assert tab.locator(".upload-part").count() == 0
    other.close()
    page.reload()  # the browser keeps what waits for a search
    page.locator("#lists-strip > summary").click()
    page.wait_for_selector("#lists-search:not([disabled])")
    page.locator("#lists-search").click()
    page.wait_for_url("**/?run=0001*")
    page.locator("#result", has_text="Complete front").wait_for(timeout=120_000)
    page.locator("#lists-strip > summary").click()
    page.locator("#lists-current").get_by_text("tarn.csv").wait_for()
    assert page.locator(".upload-part").count() == 0


@pytest.mark.browser
def test_the_lists_can_be_taken_away_in_our_own_columns(page, own_address, workspace):
    from materials.catalogue import load_catalogue

    page.goto(own_address)
    page.locator("#lists-strip > summary").click()
    page.wait_for_selector("#lists-current table")
    with page.expect_download() as download:
        page.locator("#lists-download").click()
    data = Path(download.value.path()).read_bytes()
    found = parse_prices("all.csv", data, load_catalogue())
    assert not found.faults
    assert {each.key for each in found.products} == {key for each in workspace.lists(None) for key in each.keys}
    assert next(csv.reader(io.StringIO(data.decode("utf-8-sig"))))[0] == "product"
