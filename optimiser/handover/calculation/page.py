"""A document of plain records as one HTML file: no script, no request, made for reading and for paper."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import escape

from ...document import (
    Document,
    DocumentPart,
    DocumentTable,
    Drawing,
    Facts,
    Heading,
    Items,
    Section,
    Signature,
    SumStep,
    Text,
)
from ..drawing import palette

STYLE = """
*{box-sizing:border-box} body{margin:0 auto;padding:28px 32px;max-width:900px;font:13px/1.5 -apple-system,'Segoe UI',
'Helvetica Neue',Arial,'Liberation Sans',sans-serif;color:var(--ink);background:var(--paper);
font-variant-numeric:tabular-nums}
h1{font-size:21px;margin:0} h2{font-size:16px;margin:28px 0 6px;padding-top:6px;border-top:1px solid var(--ink)}
h3{font-size:13px;margin:18px 0 4px} p{margin:6px 0} .quiet{color:var(--muted)} figure{margin:8px 0}
svg{max-width:100%;height:auto} figcaption{color:var(--muted);font-size:12px}
.scroll{overflow-x:auto} table{border-collapse:collapse;width:100%;margin:8px 0 14px}
caption{text-align:left;font-weight:600;padding:2px 0 4px} thead th{font-weight:400;color:var(--muted);text-align:left}
th,td{padding:3px 10px 3px 0;border-bottom:1px solid var(--hairline);vertical-align:top} tbody th{font-weight:400;
text-align:left} th.figure,td.figure{text-align:right;padding-right:4px} tr.total td,tr.total th{font-weight:700;
border-top:1px solid var(--ink)} td.entered{border:1px solid var(--muted);min-width:70px;height:28px}
dl{display:grid;grid-template-columns:minmax(140px,max-content) 1fr;gap:2px 18px;margin:8px 0} dt{color:var(--muted)}
dd{margin:0;overflow-wrap:anywhere} .step{margin:8px 0;padding-left:12px;border-left:2px solid var(--hairline)}
.step .title{font-weight:600} .strong{border-left-color:var(--accent)} .strong .result{font-size:17px}
.result{font-weight:700;white-space:nowrap} .lines{display:grid;grid-template-columns:2fr 1fr 2fr;gap:24px;
margin-top:44px} .lines div{border-top:1px solid var(--ink);padding-top:4px;color:var(--muted)}
ul{padding-left:20px;margin:4px 0}
@media print{body{padding:0;max-width:none} @page{margin:16mm} tr,li,svg,.step,.lines{break-inside:avoid}
h2,h3,caption,.kept{break-after:avoid} .fresh{break-before:page} .scroll{overflow:visible}}
"""
_SCRIPTED = re.compile(r"<\s*script|\bon\w+\s*=|javascript:|<\s*foreignobject", re.IGNORECASE)
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff\ud800-\udfff]")


def calculation_html(document: Document) -> str:
    """The document as one HTML file. Every word is escaped; drawings are taken as they are.

    ValueError where a drawing carries a script.
    """
    colours = f":root{{color-scheme:light;{palette.custom_properties(palette.LIGHT)}}}"
    subtitle = f'<p class="quiet">{_words(document.subtitle)}</p>' if document.subtitle else ""
    body = f"<h1>{_words(document.title)}</h1>{subtitle}" + "".join(_section(each) for each in document.sections)
    wide = "@media print{@page{size:A4 landscape}}" if document.across else "@media print{@page{size:A4}}"
    return (
        f'<!DOCTYPE html><html lang="{_words(document.language)}"><head><meta charset="utf-8">'
        f"<title>{_words(document.title)} · wallfront</title>"
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f"<style>{colours}{STYLE}{wide}</style></head>"
        f"<body><main>{body}</main></body></html>\n"
    )


def _words(text: str) -> str:
    return escape(_CONTROL.sub("", text))


def _section(section: Section) -> str:
    fresh = ' class="fresh"' if section.fresh else ""
    parts = "".join(WRITERS[type(each)](each) for each in section.parts)
    return f"<section{fresh}><h2>{_words(section.title)}</h2>{parts}</section>"


def _text(part: Text) -> str:
    named = " ".join(name for name, held in (("quiet", part.quiet), ("kept", part.kept)) if held)
    return f'<p class="{named}">{_words(part.words)}</p>' if named else f"<p>{_words(part.words)}</p>"


def _heading(part: Heading) -> str:
    return f"<h3>{_words(part.words)}</h3>"


def _items(part: Items) -> str:
    return f"<ul>{''.join(f'<li>{_words(each)}</li>' for each in part.lines)}</ul>"


def _facts(part: Facts) -> str:
    class_ = ' class="kept"' if part.kept else ""
    pairs = "".join(f"<dt>{_words(label)}</dt><dd>{_words(value)}</dd>" for label, value in part.pairs)
    return f"<dl{class_}>{pairs}</dl>"


def _step(part: SumStep) -> str:
    shown = f"{_words(part.sum)} = " if part.sum else ""
    named = f"step{' strong' if part.strong else ''}{' kept' if part.kept else ''}"
    note = f'<div class="quiet">{_words(part.note)}</div>' if part.note else ""
    return (
        f'<div class="{named}"><div class="title">{_words(part.title)}</div>{note}'
        f'<div>{shown}<span class="result">{_words(part.result)}</span></div></div>'
    )


def _grid(part: DocumentTable) -> str:
    heads = "".join(f'<th scope="col"{_kind(part, at)}>{_words(each)}</th>' for at, each in enumerate(part.heads))
    rows = "".join(_row(part, at) for at in range(len(part.rows)))
    return (
        f'<div class="scroll"><table><caption>{_words(part.caption)}</caption><thead><tr>{heads}</tr></thead>'
        f"<tbody>{rows}</tbody></table></div>"
    )


def _row(part: DocumentTable, row: int) -> str:
    total = ' class="total"' if row >= len(part.rows) - part.totals else ""
    cells = []
    for at, each in enumerate(part.rows[row]):
        opening, closing = ('<th scope="row"', "</th>") if at == 0 and each else ("<td", "</td>")
        cells.append(f"{opening}{_kind(part, at)}>{_words(each)}{closing}")
    return f"<tr{total}>{''.join(cells)}</tr>"


def _kind(part: DocumentTable, column: int) -> str:
    if column in part.entered:
        return ' class="entered"'
    return ' class="figure"' if column >= part.words and column not in part.wordy else ""


def _drawing(part: Drawing) -> str:
    if _SCRIPTED.search(part.svg):
        raise ValueError("a drawing must not carry a script")
    caption = f"<figcaption>{_words(part.caption)}</figcaption>" if part.caption else ""
    return f'<figure role="group" aria-label="{_words(part.alt)}">{part.svg}{caption}</figure>'


def _signature(part: Signature) -> str:
    lines = "".join(f"<div>{_words(each)}</div>" for each in part.lines)
    return f'<p>{_words(part.words)}</p><div class="lines">{lines}</div>'


WRITERS: dict[type[DocumentPart], Callable[..., str]] = {
    Text: _text,
    Heading: _heading,
    Items: _items,
    Facts: _facts,
    SumStep: _step,
    DocumentTable: _grid,
    Drawing: _drawing,
    Signature: _signature,
}
