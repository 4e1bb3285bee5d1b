"""Hostile declarations: one located InputError, whatever the file holds."""

from __future__ import annotations

import json
import struct
import zipfile

import declared_products
import pytest
from declaration_files import BIOGENIC, FOSSIL, flow_xml, process_json, process_xml, write_json, write_xml, write_zip

from materials.declared.declaration_files import (
    MAX_DEPTH,
    MAX_DOCUMENT_BYTES,
    MAX_ELEMENTS,
    MAX_ENTRIES,
    MAX_UNPACKED_BYTES,
)
from materials.declared.declarations import read_declarations


def refused(path, *words):
    """One message, not too long, that names the file."""
    assert len(declared_products.refused(lambda: read_declarations(path), path.name, *words)) < 2000


# --- XML that attacks the reader

BOMB = "".join(f'<!ENTITY l{i} "{f"&l{i - 1};" * 10}">' for i in range(1, 10))


@pytest.mark.parametrize(
    "document_type",
    [
        f'<!DOCTYPE x [<!ENTITY l0 "lol">{BOMB}]>',
        '<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]>',
        '<!DOCTYPE x [<!ENTITY a SYSTEM "http://localhost:9/a">]>',
        '<!DOCTYPE x [<!ENTITY % a SYSTEM "file:///etc/passwd"> %a;]>',
        '<!DOCTYPE x SYSTEM "file:///etc/passwd">',
        '<!DOCTYPE x PUBLIC "-//a//b" "http://localhost:9/x.dtd">',
        "<!DOCTYPE x>",
    ],
    ids=["billion laughs", "file", "address", "parameter", "outer DTD", "public DTD", "bare"],
)
@pytest.mark.parametrize("archived", [False, True])
def test_document_types_and_entities_are_refused(tmp_path, document_type, archived):
    head, body = process_xml().split("\n", 1)
    text = f"{head}\n{document_type}\n{body.replace('a board', '&a;')}"
    path = write_zip(tmp_path / "a.zip", text) if archived else write_xml(tmp_path / "a.xml", text)
    refused(path, "line 2", "document type or entity", "expected plain XML")


def test_an_entity_without_a_document_type(tmp_path):
    refused(write_xml(tmp_path / "a.xml", process_xml().replace("a board", "&a;")), "not XML", "line 4")


def test_nesting_is_limited(tmp_path):
    deep = "<a>" * 100_000 + "</a>" * 100_000
    refused(write_xml(tmp_path / "a.xml", deep), f"element {MAX_DEPTH + 1}", f"deeper than {MAX_DEPTH} levels")


def test_elements_are_counted(tmp_path):
    many = f"<processDataSet>{'<a/>' * (MAX_ELEMENTS + 1)}</processDataSet>"
    refused(write_xml(tmp_path / "a.xml", many), f"at most {MAX_ELEMENTS} elements")


def test_a_data_set_has_a_size(tmp_path):
    large = f"<processDataSet>{' ' * MAX_DOCUMENT_BYTES}</processDataSet>"
    refused(write_xml(tmp_path / "a.xml", large), "8 MB", "expected a data set of at most 8 MB")
    refused(write_zip(tmp_path / "a.zip", large), "unpacks to more than 8 MB")


@pytest.mark.parametrize(
    ("of", "limit"),
    [
        ("<exchange/>", "5001 exchanges; expected at most 5000"),
        ("<LCIAResult/>", "5001 results; expected at most 5000"),
    ],
)
def test_exchanges_and_results_are_counted(tmp_path, of, limit):
    holder = "exchanges" if "exchange" in of else "LCIAResults"
    begin, end = process_xml().split(f"<{holder}>")
    inside = of * (5001 - end.split(f"</{holder}>")[0].count(f"<{of[1:-2]}"))
    refused(write_xml(tmp_path / "a.xml", f"{begin}<{holder}>{inside}{end}"), limit)


def test_amounts_and_scenarios_are_counted(tmp_path):
    many = {FOSSIL: {("C3", f"s{i}"): 1.0 for i in range(2001)} | {"A1-A3": 1.0}}
    refused(
        write_xml(tmp_path / "a.xml", process_xml(many)), "LCIAResult[1]/other", "2002 amounts; expected at most 2000"
    )
    named = process_xml(scenarios={f"s{i}": False for i in range(501)})
    refused(write_xml(tmp_path / "a.xml", named), "501 scenarios; expected at most 500")


@pytest.mark.parametrize("encoding", ["utf-16", "iso-8859-1"])
def test_other_encodings_that_xml_knows(tmp_path, encoding):
    path = tmp_path / "a.xml"
    path.write_bytes(process_xml().replace("UTF-8", encoding).encode(encoding))
    assert read_declarations(path)[0].name == "a board"


@pytest.mark.parametrize("encoding", ["klingon", "utf-7", "shift_jis", "cp037"])
def test_encodings_that_xml_does_not_know(tmp_path, encoding):
    refused(write_xml(tmp_path / "a.xml", process_xml().replace("UTF-8", encoding)), "not XML")


@pytest.mark.parametrize(
    "value", ["NaN", "Infinity", "-INF", "1e999", "1e13", "0x10", "1_000", "1,5", "12 kg", "٣", "--1", "9" * 400]
)
def test_words_and_impossible_numbers_for_a_value(tmp_path, value):
    place = "/processDataSet/LCIAResults/LCIAResult[2]/other/amount[1]"
    values = {FOSSIL: {"A1-A3": 1.0}, BIOGENIC: {"A1-A3": value}}
    refused(write_xml(tmp_path / "a.xml", process_xml(values)), place, "expected a number")
    place = "/LCIAResults/LCIAResult[2]/other/anies[1]/value"
    refused(write_json(tmp_path / "a.json", process_json(values)), place, "expected a number")


# --- JSON


@pytest.mark.parametrize("word", ["NaN", "Infinity", "-Infinity"])
def test_json_without_infinities(tmp_path, word):
    refused(write_xml(tmp_path / "a.json", json.dumps(process_json()).replace("200.0", word)), word, "expected numbers")


@pytest.mark.parametrize("number", ["1e999", "9" * 400, "-1e400"])
def test_json_numbers_out_of_reach(tmp_path, number):
    text = json.dumps(process_json()).replace("200.0", number)
    refused(write_xml(tmp_path / "a.json", text), "LCIAResult[1]/other/anies[1]/value", "expected a number")


def test_json_integer_of_thousands_of_digits(tmp_path):
    text = json.dumps(process_json()).replace("200.0", "9" * 5000)
    refused(write_xml(tmp_path / "a.json", text), "number too long")


@pytest.mark.parametrize("bomb", ["[" * 200_000, '{"a":' * 100_000, "[" * 5000 + "]" * 5000])
def test_json_nested_without_end(tmp_path, bomb):
    text = bomb if bomb.endswith("]") else bomb + "1"
    refused(write_xml(tmp_path / "a.json", text))
    refused(write_xml(tmp_path / "a.json", '{"processInformation": ' + bomb + "}"))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "not JSON"),
        ("[]", "expected an object"),
        ("null", "expected an object"),
        ('{"a": 1,}', "line 1, column 9"),
        ('"\\ud800"', "expected an object"),
    ],
)
def test_json_that_is_no_object(tmp_path, text, words):
    refused(write_xml(tmp_path / "a.json", text), words)


def test_json_in_another_encoding(tmp_path):
    path = tmp_path / "a.json"
    path.write_bytes(json.dumps(process_json()).encode("utf-16"))
    refused(path, "byte 1", "not UTF-8")


@pytest.mark.parametrize(
    ("way", "value", "words"),
    [
        (("processInformation",), [], "/processInformation: a list; expected an object"),
        (("processInformation", "dataSetInformation", "UUID"), 7, "/UUID: '7'; expected a UUID"),
        (
            ("processInformation", "dataSetInformation", "name", "baseName"),
            [{"value": 1}],
            "baseName[1]/value: a number",
        ),
        (("processInformation", "time", "referenceYear"), 20.24, "/time/referenceYear: '20.24'; expected a year"),
        (("processInformation", "time", "dataSetValidUntil"), True, "/time/dataSetValidUntil: 'True'"),
        (("exchanges", "exchange"), "all", "/exchanges/exchange: text; expected a list of objects"),
        (("exchanges", "exchange", 0, "meanAmount"), {}, "/exchanges/exchange[1]/meanAmount: an object"),
        (("exchanges", "exchange", 0, "flowProperties"), [1], "flowProperties[1]: a number; expected an object"),
        (("LCIAResults", "LCIAResult", 0, "other", "anies"), {}, "other/anies: an object; expected a list"),
        (("LCIAResults", "LCIAResult", 0, "other", "anies", 0, "module"), 1, "anies[1]/module: a number"),
        (("LCIAResults", "LCIAResult", 0, "other", "anies", 0, "value"), True, "anies[1]/value: a truth value"),
        (("LCIAResults", "LCIAResult", 0, "other", "anies", 0, "scenario"), 5, "anies[1]/scenario: 5"),
    ],
)
def test_the_wrong_kind_of_value_is_told_with_its_place(tmp_path, way, value, words):
    root = process_json()
    parent = root
    for step in way[:-1]:
        parent = parent[step]
    parent[way[-1]] = value
    refused(write_json(tmp_path / "a.json", root), words)


# --- archives


def test_archives_are_limited_in_entries(tmp_path):
    path = tmp_path / "a.zip"
    with zipfile.ZipFile(path, "w") as archive:
        for i in range(MAX_ENTRIES + 1):
            archive.writestr(f"{i}.txt", "")
    refused(path, f"{MAX_ENTRIES + 1} entries; expected at most {MAX_ENTRIES}")


def test_an_archive_that_unpacks_without_end(tmp_path):
    path = tmp_path / "a.zip"
    text = f"<flowDataSet>{' ' * (MAX_DOCUMENT_BYTES - 40)}</flowDataSet>".encode()
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for i in range(MAX_UNPACKED_BYTES // MAX_DOCUMENT_BYTES + 2):
            archive.writestr(f"flows/{i}.xml", text)
    assert path.stat().st_size < 200_000
    refused(path, "unpacks to more than", "60 MB together")


def test_an_entry_that_lies_about_its_size(tmp_path):
    path = write_zip(tmp_path / "a.zip", process_xml() + " " * MAX_DOCUMENT_BYTES)
    data = bytearray(path.read_bytes())
    at = data.rindex(b"PK\x01\x02") + 24  # the stated size in the central directory
    data[at : at + 4] = struct.pack("<I", 10)
    path.write_bytes(data)
    refused(path)


def test_locked_entries_are_refused(tmp_path):
    path = write_zip(tmp_path / "a.zip", process_xml())
    data = bytearray(path.read_bytes())
    data[data.rindex(b"PK\x01\x02") + 8] |= 1
    path.write_bytes(data)
    refused(path, "ILCD/processes/0.xml", "locked with a password")


def test_names_that_point_elsewhere_are_only_names(tmp_path):
    path = tmp_path / "in" / "a.zip"
    path.parent.mkdir()
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("../../outside.xml", process_xml())
        archive.writestr("/tmp/absolute\x1b[31m.xml", flow_xml())
    assert read_declarations(path)[0].unit.unit == "m3"
    assert sorted(each.name for each in tmp_path.rglob("*")) == ["a.zip", "in"]


@pytest.mark.parametrize("data", [b"", b"PK", b"not a zip", b"PK\x05\x06" + bytes(18)])
def test_what_is_no_archive(tmp_path, data):
    path = tmp_path / "a.zip"
    path.write_bytes(data)
    refused(path)


def test_an_archive_in_an_archive_is_not_opened(tmp_path):
    inner = write_zip(tmp_path / "inner.zip", process_xml(), flow_xml()).read_bytes()
    refused(write_zip(tmp_path / "a.zip", **{"inner.zip": inner}), "no process data set")
