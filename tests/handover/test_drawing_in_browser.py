"""Drawings in a real browser: words lie on the sheet and clear of one another; the rendered CAD file shows ink."""

from __future__ import annotations

import io

import pytest
from drawn_walls import ALL
from house_walls import brief

from optimiser.handover.drawing.dxf import drawing_dxf
from optimiser.handover.drawing.sheet import drawing_svg
from optimiser.handover.drawing.title import Title

FRAMED = brief(framing={"height_mm": 2750.0, "plates": 3, "nogging_rows": 1})
OVERLAPS = """() => {
  const sheet = document.querySelector('svg').getBoundingClientRect();
  const found = [...document.querySelectorAll('svg text')]
    .map(each => [each.textContent, each.getBoundingClientRect()]);
  const faults = found.filter(([, b]) => b.left < sheet.left || b.right > sheet.right || b.bottom > sheet.bottom)
    .map(([words]) => words + ' leaves the sheet');
  found.forEach(([one, a], at) => found.slice(at + 1).forEach(([other, b]) => {
    const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
    const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
    if (wide > 2 && high > 4) faults.push(one + ' over ' + other);
  }));
  return faults;
}"""


@pytest.fixture(scope="module")
def tab(chromium):
    page = chromium.new_page(viewport={"width": 1140, "height": 1600})
    yield page
    page.close()


@pytest.mark.browser
@pytest.mark.parametrize("view", ["plan", "vertical"])
@pytest.mark.parametrize("name", ALL)
def test_words_keep_clear_of_one_another(tab, name, view):
    for scale in (None, 5, 10):
        svg = drawing_svg(ALL[name], FRAMED, view, scale, Title("W-007", "a wall of many words " * 9, 0.105, "2 May"))
        tab.set_content(svg)
        assert tab.evaluate(OVERLAPS) == []


@pytest.mark.browser
@pytest.mark.parametrize("name", ["twin", "serviced", "staggered"])
def test_the_cad_file_is_seen(tab, name):
    import ezdxf
    from ezdxf.addons.drawing import Frontend, RenderContext, layout
    from ezdxf.addons.drawing.svg import SVGBackend

    document = ezdxf.read(io.StringIO(drawing_dxf(ALL[name], FRAMED).decode("utf-8")))
    backend = SVGBackend()
    Frontend(RenderContext(document), backend).draw_layout(document.modelspace())
    drawn = backend.get_string(layout.Page(0, 0, layout.Units.mm), settings=layout.Settings(scale=0.1))
    tab.set_content(drawn)
    boxes = tab.evaluate("() => [...document.querySelectorAll('path')].map(e => e.getBoundingClientRect().height)")
    assert max(boxes) > 900  # the storey's dimension line, 275 mm at 1:10 and 96 px an inch
    tab.set_content("<svg></svg>")
    blank = tab.screenshot()
    tab.set_content(drawn)
    assert len(tab.screenshot()) > 5 * len(blank)
