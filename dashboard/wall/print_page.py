"""The print view of one wall: section, layers and the worked U-value on a page that needs nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape

from materials.models import Product
from optimiser.checks.judge import Judged, LayerFigures
from optimiser.handover.calculation.worked import worked_html
from optimiser.handover.drawing.section import section_svg
from optimiser.handover.drawing.sheet import palette
from optimiser.search.landmarks import missing

from ..rows.brief_line import brief_words
from ..source import FrontSource
from ..words import figure, millimetres, symbol
from . import carbon_part, cost_part
from .facts import FactTable, key_figures, layer_lines
from .judgement_sheet import judgements_html, target_of

STYLE = """
*{box-sizing:border-box} body{margin:0 auto;padding:28px 32px;max-width:860px;font:13px/1.5 -apple-system,'Segoe UI',
'Helvetica Neue',Arial,'Liberation Sans',sans-serif;color:var(--ink);background:var(--paper);
font-variant-numeric:tabular-nums}
h1{font-size:21px;margin:0} h2{font-size:15px;margin:26px 0 6px} h3{font-size:13px;margin:16px 0 4px}
.muted,.terms{color:var(--muted)} .terms{font-size:12px} .figures{display:flex;flex-wrap:wrap;gap:28px;margin:16px 0}
.figures b{display:block;font-size:21px} svg{max-width:100%;height:auto;margin:6px 0}
table{border-collapse:collapse;width:100%} th{font-weight:400;color:var(--muted);text-align:left}
th,td{padding:4px 8px 4px 0;border-bottom:1px solid var(--hairline);vertical-align:top}
.right{text-align:right;padding-right:0}
td.right,th.right{padding-left:14px;white-space:nowrap}
.layers th.right{white-space:normal;vertical-align:bottom} ol,ul{padding-left:20px;margin:4px 0} li{margin:5px 0}
.kg li{margin:2px 0}
tr.off td{color:var(--muted)} tr.sum td{font-weight:700} tr.apart td{border-top:1px solid var(--ink)}
.result strong{font-size:17px} tfoot{display:table-row-group} tfoot td{font-weight:700;border-bottom:0}
@media print{@page{margin:13mm 14mm} body{padding:0;max-width:none;font-size:10.5px;line-height:1.36}
h1{font-size:18px} h2{font-size:13px;margin:15px 0 3px} h3{font-size:11.5px;margin:9px 0 2px} p{margin:4px 0}
.figures{margin:9px 0} .figures b{font-size:17px} .terms{font-size:9.5px} .result strong{font-size:14px}
th,td{padding:1.5px 8px 1.5px 0} li{margin:2px 0} .kg{columns:2;column-gap:28px} .kg li{margin:0}
svg{display:block;max-width:560px;margin:3px 0} tr,li,svg,.whole{break-inside:avoid} h2,h3{break-after:avoid}}
"""


def wall_sheet(judged: Judged, key: str, source: FrontSource, floor_lost: float | None) -> str:
    """The page as HTML; every word that people wrote is escaped. Light, as it is for paper."""
    currency = source.currency
    figures = "".join(
        f"<div><b>{escape(value)}</b>{escape(label)}</div>"
        for value, label in key_figures(judged, floor_lost, currency, source.asked)
    )
    body = [
        f"<h1>Wall {escape(key)}</h1>",
        f'<p class="muted">{escape(brief_words(source.brief))}</p>',
        f'<div class="figures">{figures}</div>',
        "<h2>Plan section</h2>",
        section_svg(judged.wall, width_px=760, prefix="print"),
        "<h2>Layers, from outside to inside</h2>",
        _layers(judged, currency, source.study.pricing.products if source.study else None),
        _carbon(judged, source),
        _cost(judged, currency),
        worked_html(judged.heat),
        judgements_html(judged, target_of(source, key), source),
    ]
    return _page(f"Wall {key}", "".join(body))


def missing_sheet(key: str) -> str:
    """The page for a wall that is not on the front."""
    words = f"There is no wall {key} on this front." if key else "The address names no wall."
    return _page(
        "No such wall",
        f"<h1>No such wall</h1><p>{escape(words)} Choose one in the explorer and print it from there.</p>",
    )


def unreadable_sheet(words: str) -> str:
    """The page for a wall whose file, or another of the study, cannot be read."""
    return _page("Cannot be shown", f"<h1>Cannot be shown</h1><p>{escape(words)}</p>")


def _page(title: str, body: str) -> str:
    colours = f":root{{{palette.custom_properties(palette.LIGHT)}}}"
    return (
        f'<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>{escape(title)} · wallfront</title>'
        f'<meta name="viewport" content="width=device-width"><style>{colours}{STYLE}</style></head>'
        f"<body>{body}</body></html>"
    )


def _layers(judged: Judged, currency: str, offered: Mapping[str, Product] | None) -> str:
    """The layer table with what each layer brings per m2 of wall; a price that has lapsed says so."""
    heads = ("", "layer", "what it is", "product, supplier")
    units = ("mm", "kg/m²", f"{symbol(currency).strip()}/m²", "kgCO₂e/m²", "stored kgCO₂/m²")
    head = "".join(f"<th>{each}</th>" for each in heads) + "".join(f'<th class="right">{each}</th>' for each in units)
    marks = {each.number: each.mark for each in layer_lines(judged, offered)}
    rows = "".join(_row(each, currency, marks[each.number]) for each in judged.layers)
    totals = (
        millimetres(judged.thickness_mm),
        figure("weight_kg_m2", judged.weight_kg_m2),
        figure("cost_per_m2", judged.cost_per_m2),
        figure("carbon_kgco2e_m2", judged.carbon_kgco2e_m2),
        figure("carbon_kgco2e_m2", _stored(judged.biogenic_kgco2e_m2)),
    )
    foot = '<td></td><td colspan="3">the wall</td>' + "".join(f'<td class="right">{each}</td>' for each in totals)
    shown = f"<thead><tr>{head}</tr></thead><tbody>{rows}</tbody><tfoot><tr>{foot}</tr></tfoot>"
    return f'<table class="layers">{shown}</table>'


def _carbon(judged: Judged, source: FrontSource) -> str:
    """Carbon by module, what is stored and how each material's ends, and what each value rests on."""
    pricing = source.study.pricing if source.study else None
    life = carbon_part.life_words(judged, source.brief)
    stored, *each_kg = carbon_part.stored_lines(judged, everything=True) or [""]
    said = [carbon_part.score_words(judged), life, stored]
    lines = "".join(f"<p>{escape(words)}</p>" for words in said if words)
    items = "".join(f"<li>{escape(words)}</li>" for words in each_kg)
    lines += f'<ul class="kg">{items}</ul>' if items else ""
    rests = _table(carbon_part.basis_table(judged, pricing), hints=True)
    words = escape(carbon_part.basis_words(judged, pricing))
    return (
        f"<h2>Carbon by module</h2>{_table(carbon_part.module_table(judged))}{lines}"
        f'<h3>What each value rests on, kgCO₂e per kg</h3>{rests}<p class="muted">{words}</p>'
    )


def _cost(judged: Judged, currency: str) -> str:
    """Cost by layer and part, by supplier, and the hours by operation."""
    if judged.cost is None:
        return ""
    said = [cost_part.supplier_words(judged, currency), cost_part.hours_words(judged)]
    lines = "".join(f"<p>{escape(words)}</p>" for words in said if words)
    return f"<h2>Cost by part</h2>{_table(cost_part.cost_table(judged, currency))}{lines}"


def _table(facts: FactTable, hints: bool = False) -> str:
    """A table for paper. hints: what the screen shows on hovering is written under the last word of its row."""
    heads = "".join(f'<th class="{facts.kind_of(at)}">{escape(word)}</th>' for at, word in enumerate(facts.heads))
    rows = []
    for row in facts.rows:
        cells = [escape(cell) for cell in row.cells]
        if hints and row.hint:
            cells[facts.words - 1] += f'<br><span class="muted">{escape(row.hint)}</span>'
        shown = "".join(f'<td class="{facts.kind_of(at)}">{cell}</td>' for at, cell in enumerate(cells))
        rows.append(f'<tr class="{row.kind}">{shown}</tr>')
    kind = "" if hints else "whole"  # a table with hints is too long for one page
    return f'<table class="{kind}"><thead><tr>{heads}</tr></thead><tbody>{"".join(rows)}</tbody></table>'


def _stored(biogenic: float | None) -> float | None:
    """Carbon held in the wall [kgCO2/m2] as a positive figure."""
    return None if missing(biogenic) else abs(biogenic)


def _row(each: LayerFigures, currency: str, mark: str) -> str:
    lapsed = mark if mark not in each.product else ""
    bought = ", ".join(filter(None, (each.product, each.supplier, lapsed))) or "on no list"
    words = (str(each.number), each.role, each.text, bought)
    values = (
        millimetres(each.thickness_mm) if each.thickness_mm >= 0.05 else "–",
        figure("weight_kg_m2", each.weight_kg_m2),
        figure("cost_per_m2", each.cost_per_m2, 2),
        figure("carbon_kgco2e_m2", each.carbon_kgco2e_m2, 2),
        figure("carbon_kgco2e_m2", _stored(each.biogenic_kgco2e_m2), 2),
    )
    cells = "".join(f"<td>{escape(word)}</td>" for word in words)
    return f"<tr>{cells}" + "".join(f'<td class="right">{each}</td>' for each in values) + "</tr>"
