"""The calculation sheet as one HTML file: the same words, no script, no request, headings and tables in order."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from itertools import pairwise

import pytest
from calculated_walls import WALLS
from drawn_walls import twin

from optimiser.checks.judge import judge
from optimiser.document import Document, DocumentTable, Drawing, Section, SumStep
from optimiser.handover.calculation.page import calculation_html
from optimiser.handover.calculation.sheet import calculation

HOSTILE = '<script>alert("x")</script> & \'quoted\' "q" \x00\x1b'
VOID = {"meta", "br", "img", "input", "link", "hr"}


class Reader(HTMLParser):
    """Tags in order with their attributes, and whether every one is closed where it should be."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.words: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    def all(self, *names: str) -> list[tuple[str, dict[str, str | None]]]:
        return [each for each in self.tags if each[0] in names]


@pytest.fixture(scope="module")
def page() -> Reader:
    found = Reader(calculation_html(calculation(judge(twin()))))
    assert not found.open
    return found


def test_page_has_language_title_and_headings_in_order(page: Reader):
    assert page.all("html")[0][1]["lang"] == "en"
    assert len(page.all("h1")) == 1 and len(page.all("title", "main")) >= 2
    levels = [int(tag[1]) for tag, _ in page.all("h1", "h2", "h3")]
    assert all(below - above <= 1 for above, below in pairwise(levels))


def test_every_table_has_a_caption_and_scoped_heads(page: Reader):
    assert len(page.all("table")) == len(page.all("caption")) >= 5
    assert all(attributes.get("scope") in ("col", "row") for _, attributes in page.all("th"))


def test_drawing_is_told_in_words(page: Reader):
    figure = page.all("figure")[0][1]
    assert figure["aria-label"].startswith("From outside to inside: 1 cladding")
    assert page.all("svg")


def test_nothing_is_asked_of_a_network(page: Reader):
    assert not page.all("script", "link", "img", "iframe", "object", "form", "base")
    for _, attributes in page.tags:
        for name, value in attributes.items():
            assert not name.startswith("on")
            assert name == "xmlns" or "://" not in (value or "")
    style = "".join(page.words)
    assert "@import" not in style and not re.search(r"url\((?!#)", style)


def test_names_are_escaped():
    wall = twin(name=HOSTILE)
    shown = calculation_html(calculation(judge(wall)))
    assert "<script" not in shown and "&lt;script&gt;alert(&quot;x&quot;)&lt;/script&gt;" in shown
    assert "\x00" not in shown and "\x1b" not in shown
    assert not Reader(shown).open


def test_drawings_with_scripts_are_refused():
    for svg in ("<svg><script>1</script></svg>", '<svg onload="x()"/>', '<svg><a href="javascript:x"/></svg>'):
        with pytest.raises(ValueError, match="script"):
            calculation_html(Document("t", "", (Section("s", (Drawing(svg, "a"),)),)))


@pytest.mark.parametrize("name", WALLS)
def test_page_holds_every_word_of_the_records(name: str):
    document = calculation(judge(WALLS[name]()))
    words = re.sub(r"\s+", " ", "".join(Reader(calculation_html(document)).words))
    for section in document.sections:
        assert section.title in words
        for part in section.parts:
            if isinstance(part, SumStep):
                assert part.title in words and part.sum in words and part.result in words
            if isinstance(part, DocumentTable):
                for row in part.rows:
                    assert all(re.sub(r"\s+", " ", cell) in words for cell in row)


def test_page_is_the_same_each_time():
    assert calculation_html(calculation(judge(twin()))) == calculation_html(calculation(judge(twin())))
