"""The calculation sheet as PDF: U recomputed from its text alone, tags, equal bytes, hostile names, speed."""

from __future__ import annotations

import builtins
import ctypes
import re
import time

import pypdfium2
import pypdfium2.raw as pdfium
import pytest
from calculated_walls import WALLS
from drawn_walls import twin
from house_walls import RECTANGLE, brief, parted, pricing, single
from house_walls import twin as tied
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from materials.errors import InputError
from optimiser.checks.judge import judge
from optimiser.document import Document, DocumentTable, Drawing, Items, Section, Signature, Text
from optimiser.handover.calculation.print import LOST, calculation_pdf, filling_pdf, table_section, tables_pdf
from optimiser.handover.calculation.sheet import calculation
from optimiser.handover.filling.files import filling_table
from optimiser.handover.filling.sheet import filling_sheet
from optimiser.handover.ordering.as_taken_off import as_taken_off
from optimiser.handover.ordering.take_off import take_off

HOSTILE = '#panic("x") $x^2$ @cite *b* _i_ [a] \\ <b> `r` ~ // c -- "q"'
NUMBER = r"\d+\.\d+"


def text_of(data: bytes) -> str:
    """All words of a PDF in one line."""
    pages = [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(data)]
    return re.sub(r"\s+", " ", " ".join(pages))


def terms(words: str) -> dict[str, float]:
    """'0.1300 (Rse) + 3.0769 (4 fill)' -> what each is."""
    return {name: float(value) for value, name in re.findall(rf"({NUMBER}) \(([^()]+)\)", words)}


def limits_by_hand(text: str, which: str) -> tuple[float, float]:
    """R' and R'' [m2K/W], adding up what the sheet says of paths and layers and using none of its sums."""
    above, below = text.split(f"Lower limit R″{which}: layer by layer")[:2]
    conductance = area = 0.0
    for path in re.split(r"Path \d+, ", above.split(f"Upper limit R′{which}: path by path")[1])[1:]:
        head, _, rest = path.partition(" (Rse)")
        shares = re.findall(r"= ([01]\.\d{5})", head)
        share = float(shares[-1]) if shares else 1.0
        summands = terms(f"{head.split()[-1]} (Rse){rest.split(' = R')[0]}")
        area += share
        conductance += share / sum(summands.values())
    assert area == pytest.approx(1, abs=6e-5)
    below, lower = below.split(f"Lower limit R″{which} ", 1)
    layers = {}
    pairs = rf"Layer (\d+), .*?1 / \(({NUMBER}) / ({NUMBER}) \+ ({NUMBER}) / ({NUMBER})\)"
    for number, *values in re.findall(pairs, below):
        f_fill, r_fill, f_member, r_member = map(float, values)
        layers[number] = 1 / (f_fill / r_fill + f_member / r_member)
    summands = terms(lower.split(" = R″")[0])
    return 1 / conductance, sum((summands | layers).values())


def u_by_hand(text: str) -> float:
    """U [W/m2K] with a pocket calculator, from the words of the sheet."""
    opening = re.search(r"Weight of the open case .*?\((\d+(?:\.\d+)?) − 500\) / 1000 =", text)
    if opening is None:
        upper, lower = limits_by_hand(text, "")
    else:
        share = (float(opening[1]) - 500) / 1000
        closed, opened = limits_by_hand(text, ", closed"), limits_by_hand(text, ", open")
        upper, lower = ((1 - share) * one + share * two for one, two in zip(closed, opened, strict=True))
    return 2 / (upper + lower) + corrections_by_hand(text)


def corrections_by_hand(text: str) -> float:
    """The corrections, each from the figures of its own sum."""
    if "none are given for this wall" in text:
        return 0.0
    words = text.split("For the corrections:")[1].split("Corrections ΔU (ISO 6946)")[0]
    ratio = re.compile(rf"\(({NUMBER}) / ({NUMBER})\)²")
    total = 0.0
    for step in re.findall(r"((?:[\d.]+|10⁻⁶)(?: [×/] (?:[\d.]+|10⁻⁶|\([\d.]+ / [\d.]+\)²))+) = [\d.]+ W/m²K", words):
        value, sign = 1.0, "×"
        for part in re.findall(r"\([\d.]+ / [\d.]+\)²|10⁻⁶|[\d.]+|[×/]", step):
            if part in "×/":
                sign = part
                continue
            found = ratio.fullmatch(part)
            factor = (float(found[1]) / float(found[2])) ** 2 if found else 1e-6 if part == "10⁻⁶" else float(part)
            value = value * factor if sign == "×" else value / factor
        total += value
    return total


@pytest.mark.parametrize("name", WALLS)
def test_u_is_recomputed_from_the_text_alone(name: str):
    """Half a unit of the third digit is asked for; what the sheet shows is good for ten times that."""
    judged = judge(WALLS[name]())
    text = text_of(calculation_pdf(calculation(judged)))
    by_hand = u_by_hand(text)
    assert by_hand == pytest.approx(judged.u_value, abs=5e-5)
    printed = float(re.search(r"= U = (\d\.\d{5}) W/m²K", text)[1])
    assert printed == pytest.approx(judged.u_value, abs=5.1e-6)


def test_u_is_recomputed_with_the_wall_as_taken_off_on_the_sheet():
    """The words of the wall as taken off stand beside the sum and disturb none of it."""
    wall, asked = tied(), brief(RECTANGLE)
    judged = judge(wall)
    found = as_taken_off(wall, asked, take_off(wall, asked, pricing()), judged.u_value)
    text = text_of(calculation_pdf(calculation(judged, asked, target=judged.u_value, taken=found)))
    assert found.missed and "The same wall as taken off" in text
    assert u_by_hand(text) == pytest.approx(judged.u_value, abs=5e-5)


def test_corrections_are_not_nothing():
    """The check above would be none if the corrections of the corrected wall were lost on both sides."""
    judged = judge(WALLS["corrected"]())
    text = text_of(calculation_pdf(calculation(judged)))
    assert corrections_by_hand(text) == pytest.approx(judged.heat.correction, abs=2e-5)
    assert judged.heat.correction > 100 * 5e-5


def struct_types(data: bytes) -> tuple[set[str], list[str]]:
    """Kinds of tags on all pages, and the words that stand for pictures."""
    document = pypdfium2.PdfDocument(data)
    kinds: set[str] = set()
    words: list[str] = []

    def said(call, element) -> str:
        size = call(element, None, 0)
        buffer = ctypes.create_string_buffer(size)
        call(element, buffer, size)
        return buffer.raw.decode("utf-16-le").rstrip("\0")

    def walk(element) -> None:
        kinds.add(said(pdfium.FPDF_StructElement_GetType, element))
        alt = said(pdfium.FPDF_StructElement_GetAltText, element)
        if alt:
            words.append(alt)
        for at in range(pdfium.FPDF_StructElement_CountChildren(element)):
            child = pdfium.FPDF_StructElement_GetChildAtIndex(element, at)
            if child:
                walk(child)

    for page in document:
        tree = pdfium.FPDF_StructTree_GetForPage(page)
        for at in range(pdfium.FPDF_StructTree_CountChildren(tree)):
            walk(pdfium.FPDF_StructTree_GetChildAtIndex(tree, at))
        pdfium.FPDF_StructTree_Close(tree)
    return kinds, words


def test_pdf_is_tagged_for_those_who_listen():
    data = calculation_pdf(calculation(judge(twin())))
    document = pypdfium2.PdfDocument(data)
    assert pdfium.FPDFCatalog_IsTagged(document)
    assert document.get_metadata_dict()["Title"] == "Calculation of wall twin"
    assert b"/StructTreeRoot" in data and b"/MarkInfo" in data and b"/Lang" in data and b"pdfuaid:part" in data
    kinds, words = struct_types(data)
    assert {"H1", "H2", "H3", "P", "Table", "TH", "TD", "Figure", "Caption", "L", "LI"} <= kinds
    assert any(each.startswith("From outside to inside: 1 cladding") for each in words)
    outline = [(each.level, each.get_title()) for each in document.get_toc()]
    assert (0, "Calculation of wall twin") in outline and (1, "The U-value by hand") in outline


def test_equal_input_gives_equal_bytes_without_a_date():
    document = calculation(judge(twin()))
    one, two = calculation_pdf(document), calculation_pdf(calculation(judge(twin())))
    assert one == two and len(one) < 2_000_000
    assert b"CreationDate" not in one and b"CreateDate" not in one
    found = pypdfium2.PdfDocument(one)
    assert all(page.get_size() == pytest.approx((595.28, 841.89), abs=0.01) for page in found)
    assert len(found) >= 4


def test_nothing_comes_from_outside():
    """No link, no file, no font but those within."""
    data = calculation_pdf(calculation(judge(twin())))
    assert b"/URI" not in data and b"/Launch" not in data and b"/JavaScript" not in data
    fonts = set(re.findall(rb"/FontName ?/([A-Z]{6}\+[\w-]+)", data))
    assert fonts and {each.split(b"+")[1].split(b"-")[0] for each in fonts} <= {b"LibertinusSerif", b"NewCMMath"}
    assert data.count(b"/FontFile") >= len(fonts)


def test_hostile_names_stay_words():
    wall = twin(name=HOSTILE)
    wall = wall.model_copy(
        update={"materials": wall.materials | {"osb": wall.materials["osb"].model_copy(update={"name": HOSTILE})}}
    )
    text = text_of(calculation_pdf(calculation(judge(wall))))
    assert HOSTILE.replace(" ", "") in text.replace(" ", "")


def test_signs_without_a_typeface_are_told():
    document = Document("壁 😀 Ωφ ф", "", (Section("s", (Text("plain"),)),))
    text = text_of(calculation_pdf(document))
    assert "? ? Ωφ ф" in text and LOST in text
    assert LOST not in text_of(calculation_pdf(Document("Ωφ ф", "", document.sections)))


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.text(max_size=40), st.text(min_size=1, max_size=12))
def test_any_text_makes_a_page(words: str, other: str):
    parts = (
        Text(words),
        Items((words,)),
        DocumentTable(words, (other, words), ((words, other),)),
        Signature(words, (other,)),
        Drawing('<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"/>', f"drawing {words}", words),
    )
    assert calculation_pdf(Document(f"a{words}", other, (Section(words, parts),))).startswith(b"%PDF-1.7")


def test_pages_show_something_to_their_edges_and_not_beyond():
    """Rendered: every page has ink, none in the margins."""
    data = calculation_pdf(calculation(judge(WALLS["plates, ties, battens of another spacing"]())))
    for page in pypdfium2.PdfDocument(data):
        grey = page.render(scale=1).to_numpy()[:, :, :3].min(axis=2)
        inked = grey < 200
        assert inked.sum() > 400
        assert not inked[:, :40].any() and not inked[:, -40:].any() and not inked[:35].any() and not inked[-25:].any()


def test_a_sheet_takes_under_a_second():
    judged = judge(WALLS["plates, ties, battens of another spacing"]())
    calculation_pdf(calculation(judged))  # typst finds its fonts once
    took = []
    for _ in range(3):
        begun = time.perf_counter()
        calculation_pdf(calculation(judged))
        took.append(time.perf_counter() - begun)
    assert min(took) < 1.0


def test_without_typst_the_extra_is_named(monkeypatch: pytest.MonkeyPatch):
    real = builtins.__import__

    def without(name, *more, **also):
        if name == "typst":
            raise ImportError(name)
        return real(name, *more, **also)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(InputError, match=re.escape("pip install 'wallfront[report]'")):
        calculation_pdf(Document("t", "", ()))


def test_filling_sheet_as_pdf_lies_across():
    sheet = filling_sheet(single(), brief(RECTANGLE))
    data = filling_pdf(sheet)
    assert data == filling_pdf(sheet)
    document = pypdfium2.PdfDocument(data)
    assert document[0].get_size() == pytest.approx((841.89, 595.28), abs=0.01)
    text = text_of(data)
    for chamber in sheet.chambers:
        assert chamber.key in text and f"{chamber.kg:.2f}" in text
    for caution in sheet.cautions:
        assert caution[:60] in text
    assert "Went in, kg" in text and "Went in, bags" in text


def test_filling_sheet_warns_before_its_first_chamber_and_once():
    """Cautions above the table, no key of a chamber before them, powers raised, nothing in it smaller than 8 pt."""
    sheet = filling_sheet(parted(), brief(RECTANGLE))
    data = filling_pdf(sheet)
    text = text_of(data)
    first = min(text.index(each.key) for each in sheet.chambers)
    for caution in sheet.cautions:
        assert text.count(caution[:60]) == 1 and text.index(caution[:60]) < first
    assert text.index("B bay along the run") < first
    assert "kg/m³" in text and not re.search(r"\bm[23]\b", text)
    page = pypdfium2.PdfDocument(data)[0].get_textpage()
    sizes = [pdfium.FPDFText_GetFontSize(page, at) for at in range(page.count_chars() - 40)]  # less the foot
    assert min(each for each in sizes if each > 1.5) >= 7.99


def test_table_section_leaves_out_columns_and_keeps_totals():
    found = table_section(filling_table(filling_sheet(single(), brief(RECTANGLE))), without=("Mark",))
    table = next(each for each in found.parts if isinstance(each, DocumentTable))
    assert "Mark" not in table.heads and table.totals == 1 and table.rows[-1][1] == "In all"
    assert [table.heads[at] for at in table.entered] == [
        "Went in, kg",
        "Went in, bags",
        "Remark",
    ]
    assert tables_pdf("t", [found], across=False).startswith(b"%PDF")
