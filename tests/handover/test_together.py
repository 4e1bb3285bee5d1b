"""All documents of one wall: the mark that tells which wall they are of, and that none of it is checked yet."""

from __future__ import annotations

import io
import re
import zipfile
from types import SimpleNamespace

import pypdfium2
import pytest
from house_walls import RECTANGLE, brief, parted, pricing

from materials.catalogue import load_catalogue
from optimiser.handover.documents import documents
from optimiser.handover.drawing.title import CAUTION
from optimiser.handover.filling.sheet import digest_of


@pytest.fixture(scope="module")
def files() -> dict[str, bytes]:
    study = SimpleNamespace(
        brief=brief(RECTANGLE),
        pricing=pricing(),
        row=lambda _: {"id": "W-007", "target": 0.2},
        buildup=lambda _: parted(),
        summary={},
        catalogue=load_catalogue(),
    )
    made = list(documents(study, "W-007"))
    assert not [each.trouble for each in made if each.trouble]
    return {name: content for each in made for name, content in each.files.items()}


def words(name: str, content: bytes) -> str:
    """What stands in a file."""
    if name.endswith(".pdf"):
        return " ".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(content))
    if name.endswith(".xlsx"):
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            return " ".join(archive.read(part).decode() for part in archive.namelist() if part.endswith(".xml"))
    return content.decode()


def test_every_document_has_the_mark_of_the_build_up(files):
    """As it says of itself."""
    mark = digest_of(parted())
    assert len(files) > 15
    assert [name for name, content in files.items() if mark not in words(name, content)] == []


@pytest.mark.parametrize(
    "name", ["calculation.pdf", "calculation.html", "plan-section.svg", "vertical-section.svg", "wall-type.ifc"]
)
def test_nothing_is_for_construction_until_it_is_checked(files, name):
    said = re.sub(r"\s+", " ", words(name, files[name]))
    assert said.count(CAUTION) == (2 if name.endswith(".ifc") else 1)  # a wall type: description and property


def test_the_bags_of_the_sheet_are_those_of_the_order(files):
    sheet, order = words("f.csv", files["filling-sheet.csv"]), words("o.csv", files["order-quillhaven-stores.csv"])
    for fill in ("flock", "glass"):
        packs = re.search(rf"^{fill}-bag,.*?bag of [\d.]+ kg,(\d+),", order, re.MULTILINE)[1]
        assert f"{fill}: {packs} bags of" in sheet
        assert re.search(rf"^,In all,{fill},.*?,[\d.]+,{packs},", sheet, re.MULTILINE)
