"""`wallfront prices`: every fault with its place, and a template that reads back clean."""

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
    assert "1 products of 1 suppliers" in found.out


def test_calls_that_make_no_sense_are_told(wallfront, tmp_path):
    path = small.write_list(tmp_path)
    assert "give one FILE" in told_once(wallfront("prices"))
    assert "give one FILE" in told_once(wallfront("prices", path, "--template", tmp_path / "t.csv"))
    assert "no such file" in told_once(wallfront("prices", "absent.csv"))
    assert ".csv or .xlsx" in told_once(wallfront("prices", "--template", tmp_path / "list.pdf"))
    assert "cannot be written" in told_once(wallfront("prices", "--template", tmp_path / "no" / "list.csv"))
    (tmp_path / "list.csv").write_text("a,b\n1,2\n")
    assert "no header row" in told_once(wallfront("prices", tmp_path / "list.csv"))
