"""`wallfront prices`: every fault with its place, and a template that reads back clean."""

import csv
import json

import pytest
import toy_space as small
from called import told_once


def test_a_clean_list_is_counted(wallfront, tmp_path):
    found = wallfront("prices", small.write_list(tmp_path))
    assert found.code == 0
    assert f"{len(small.PRODUCTS)} products of 3 suppliers, 0 faults" in found.out
    assert found.err == ""


def test_every_fault_is_told_with_row_and_column_and_the_answer_is_no(process, tmp_path):
    path = small.write_list(
        tmp_path,
        [
            *small.PRODUCTS,
            "o-15,OSB 15,osb,Toy Boards,fifteen,,6.00,m2,EUR,,,",
            "o-18,OSB 18,osbb,Toy Boards,18,,7.00,m2,EUR,,,",
            "o-22,OSB 22,osb,Toy Boards,22,,,m2,EUR,,,",
        ],
    )
    found = process("prices", path)
    assert found.code == 1
    first = len(small.PRODUCTS) + 2
    assert f"{len(small.PRODUCTS)} products of 3 suppliers, 3 faults" in found.out
    for row, words in ((first, "column thickness_mm"), (first + 1, 'nearest: "osb"'), (first + 2, "column price")):
        assert any(f"row {row}" in line and words in line for line in found.out.splitlines()), (row, words)
    assert "Traceback" not in found.err


@pytest.mark.parametrize("name", ["empty.csv", "empty.xlsx"])
def test_the_template_reads_back_clean_and_is_never_written_over(wallfront, tmp_path, name):
    written = wallfront("prices", "--template", tmp_path / name)
    assert written.code == 0
    assert name in written.out
    found = wallfront("prices", tmp_path / name)
    assert found.code == 0
    assert "0 products of 0 suppliers, 0 faults" in found.out
    before = (tmp_path / name).read_bytes()
    assert "exists" in told_once(wallfront("prices", "--template", tmp_path / name))
    assert (tmp_path / name).read_bytes() == before


def test_the_example_of_the_template_is_a_product_once_its_sign_is_taken_away(wallfront, tmp_path):
    wallfront("prices", "--template", tmp_path / "list.csv")
    text = (tmp_path / "list.csv").read_text(encoding="utf-8-sig")
    (tmp_path / "list.csv").write_text(text.replace("# example", "example"), encoding="utf-8")
    found = wallfront("prices", tmp_path / "list.csv")
    assert found.code == 0, found.out
    assert "1 product of 1 supplier" in found.out


def test_calls_that_make_no_sense_are_told(wallfront, tmp_path):
    path = small.write_list(tmp_path)
    assert "give one FILE" in told_once(wallfront("prices"))
    assert "give one FILE" in told_once(wallfront("prices", path, "--template", tmp_path / "t.csv"))
    assert "no such file" in told_once(wallfront("prices", "absent.csv"))
    assert ".csv or .xlsx" in told_once(wallfront("prices", "--template", tmp_path / "list.pdf"))
    assert "cannot be written" in told_once(wallfront("prices", "--template", tmp_path / "no" / "list.csv"))
    (tmp_path / "list.csv").write_text("a,b\n1,2\n")
    assert "no header row" in told_once(wallfront("prices", tmp_path / "list.csv"))


OWN_LIST = "Nr;Ware;Stoff;Preis;Bis\na-1;Folie;PE;0,78;31.12.2020\na-2;Folie;PE;{price};31.12.2099\n"
OWN_WORDS = """
decimal = ","
date_format = "DD.MM.YYYY"
[columns]
Nr = "product"
Ware = "name"
Stoff = "material"
Preis = "price"
Bis = "valid_until"
[defaults]
supplier = "Made-up Trade"
unit = "m2"
currency = "EUR"
[materials]
PE = "pe-membrane"
"""


def own_list(folder, price="1,20"):
    (folder / "trade.toml").write_text(OWN_WORDS, encoding="utf-8")
    (folder / "trade.csv").write_text(OWN_LIST.format(price=price), encoding="utf-8")
    return folder / "trade.csv"


def test_a_supplier_s_own_list_is_summed_up_with_what_has_lapsed(wallfront, tmp_path):
    found = wallfront("prices", own_list(tmp_path))
    assert found.code == 0, found
    lines = found.out.splitlines()
    assert lines[0].endswith("trade.csv: 2 products of 1 supplier, 0 faults")
    assert "read by its mapping trade.toml" in lines
    assert "prices in EUR: Made-up Trade 2" in lines
    assert "  a-1: valid until 2020-12-31" in lines and "a-2" not in found.out


def test_the_same_for_programs(wallfront, tmp_path):
    found = json.loads(wallfront("prices", own_list(tmp_path), "--json").out)
    assert (found["products"], found["suppliers"], found["currency"]) == (2, {"Made-up Trade": 2}, "EUR")
    assert found["lapsed"] == [{"product": "a-1", "valid_until": "2020-12-31"}]
    assert (found["mapping"], found["faults"], found["written"]) == ("trade.toml", [], None)


def test_faults_for_programs_name_the_supplier_s_column(wallfront, tmp_path):
    found = wallfront("prices", own_list(tmp_path, "1.20"), "--json")
    assert found.code == 1
    fault = json.loads(found.out)["faults"][0]
    assert (fault["file"], fault["row"], fault["column"], fault["value"]) == ("trade.csv", 3, "Preis (price)", "1.20")


@pytest.mark.parametrize("name", ["ours.csv", "ours.xlsx"])
def test_a_list_is_rewritten_in_our_own_columns(wallfront, tmp_path, name):
    found = wallfront("prices", own_list(tmp_path), "--export", tmp_path / name)
    assert found.code == 0 and f"written to {tmp_path / name}" in found.out
    again = wallfront("prices", tmp_path / name)
    assert again.code == 0 and "2 products of 1 supplier, 0 faults" in again.out and "mapping" not in again.out
    assert "exists" in told_once(wallfront("prices", tmp_path / "trade.csv", "--export", tmp_path / name))


def test_a_list_with_faults_is_not_rewritten(wallfront, tmp_path):
    found = wallfront("prices", own_list(tmp_path, "cheap"), "--export", tmp_path / "ours.csv")
    assert found.code == 1 and "was not written: the list has faults" in found.out
    assert not (tmp_path / "ours.csv").exists()
    assert "goes with a FILE" in told_once(
        wallfront("prices", "--template", tmp_path / "t.csv", "--export", tmp_path / "ours.csv")
    )


def test_a_broken_mapping_is_told_by_its_own_name(wallfront, tmp_path):
    path = own_list(tmp_path)
    (tmp_path / "trade.toml").write_text(OWN_WORDS.replace("decimal", "decmal"), encoding="utf-8")
    message = told_once(wallfront("prices", path))
    assert "trade.toml (mapping of trade.csv)" in message and 'nearest: "decimal"' in message


def test_the_template_explains_every_column(wallfront, tmp_path):
    wallfront("prices", "--template", tmp_path / "list.csv")
    header, words, example = csv.reader((tmp_path / "list.csv").read_text(encoding="utf-8-sig").splitlines())
    told = dict(zip(header, words, strict=True))
    missing = [name for name in header if not told[name]]
    assert missing == ["conversion_temperature", "conversion_ageing"]  # beside conversion_moisture, which explains them
    assert dict(zip(header, example, strict=True))["unit"] == "pack"
