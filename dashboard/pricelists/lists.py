"""Suppliers' lists: those of a front, uploaded ones beside or in place of them, and what that comes to."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from dash import dcc, html

from materials.errors import InputError
from materials.listed.prices import DEMO, load_price_lists
from materials.models import Product
from optimiser.brief.brief import Brief
from optimiser.brief.own_materials import catalogue_of
from optimiser.locales import many

from ..numbers import spelt
from ..words import listed
from .uploads import DECLARATIONS, PRICES, Upload

BESIDE = "beside"  # no list can be called so: a list ends in .csv or .xlsx
MOST_ROWS = 200  # faults in the table; all of them are counted
ABOUT = (
    "A supplier’s list is CSV or XLSX, its columns in any order; where they are the supplier’s own, a mapping (.toml) "
    "of the same name comes with it. An environmental declaration is ILCD+EPD: XML, JSON or ZIP.",
    "At most 20 MB each. Files stay on this machine. A list with faults is not used at all, and nothing is searched "
    "before you say so.",
)


@dataclass(frozen=True)
class ListFacts:
    """One price list of a brief."""

    name: str  # as the brief has it
    products: tuple[Product, ...]

    @property
    def shown(self) -> str:
        return shown_list(self.name)

    @property
    def keys(self) -> set[str]:
        return {each.key for each in self.products}

    @property
    def suppliers(self) -> list[str]:
        return sorted({each.supplier for each in self.products})


def shown_list(name: str) -> str:
    """'prices/2-1-hollin.csv', as a study keeps it, or 'demo:hollin.csv' -> 'hollin.csv'."""
    return re.sub(r"^(\d+-)+", "", Path(name.removeprefix(DEMO)).name)


def lists_of(brief: Brief, folder: Path) -> list[ListFacts]:
    """The lists of a brief, read one by one; InputError when one can't be used."""
    catalogue = catalogue_of(brief)
    return [
        ListFacts(name, tuple(load_price_lists([name], folder, catalogue)[0]))
        for name in dict.fromkeys(brief.prices.lists)
    ]


def overlaps(upload: Upload, lists: Iterable[ListFacts]) -> dict[str, int]:
    """Lists that hold products of the same keys as an upload, and how many: name -> count."""
    counts = {each.name: len(upload.keys & each.keys) for each in lists}
    return {name: count for name, count in counts.items() if count}


def usual_place(upload: Upload, lists: Iterable[ListFacts]) -> str:
    """Where an upload goes unless somebody says otherwise: in place of the list that has its products, else beside."""
    counts = overlaps(upload, lists)
    return max(counts, key=lambda name: counts[name]) if counts else BESIDE


def brief_with(brief: Brief, placed: Sequence[tuple[Upload, str]]) -> Brief:
    """The brief with uploads (each with its place: BESIDE, or the list that it replaces); InputError in words."""
    for upload, _ in placed:
        if not upload.good:
            raise InputError(f"{upload.name}: has faults, and a list with faults is not used")
    lists, suppliers = list(brief.prices.lists), brief.prices.suppliers
    for upload, place in placed:
        if upload.kind != PRICES:
            continue
        if place == BESIDE:
            lists.append(str(upload.path))
        elif place in lists:
            lists[lists.index(place)] = str(upload.path)
        else:
            raise InputError(f"{upload.name}: {shown_list(place)} is not among the lists, or replaced already")
        if suppliers is not None:
            suppliers = tuple(dict.fromkeys((*suppliers, *upload.suppliers)))
    stated = [str(upload.path) for upload, _ in placed if upload.kind == DECLARATIONS]
    change = {"lists": tuple(lists), "suppliers": suppliers}
    if stated:
        change["declarations"] = (*brief.prices.declarations, *stated)
    if suppliers is None:
        del change["suppliers"]
    return brief.model_copy(update={"prices": brief.prices.model_copy(update=change)})


def plan_words(plan: Mapping[str, Any]) -> list[str]:
    """What a search with the new lists may use of them, in sentences."""
    slots = plan["slots"]
    on = [f"{each['slot']} ({each['on']})" for each in slots if each["on"]]
    off = [f"{each['slot']} ({each['off']})" for each in slots if each["off"] and not each["locked"]]
    locked = [each["slot"] for each in slots if each["locked"] and each["off"]]
    barred = [f"{each['slot']} ({each['barred']})" for each in slots if each["barred"]]
    said = [
        f"Products of these lists that may stand in the wall: {listed(on)}."
        if on
        else "As the brief is now, none of their products may stand in a slot."
    ]
    if off:
        said.append(
            f"Not let in yet: {listed(off)}. The brief names there what it allows; after this search, switch them on "
            "under “Change what each slot may hold”."
        )
    if locked:
        said.append(f"Locked, and so as before: {listed(locked)}.")
    if barred:
        said.append(f"Left out by the brief’s choice of materials: {listed(barred)}.")
    if plan["lapsed"]:
        said.append(f"{plan['lapsed']} of their prices have lapsed, and these are left out.")
    said += [f"{each[0].upper()}{each[1:]}." for each in plan["notes"]]
    return said


def lists_strip() -> html.Section:
    """The strip: the lists of this front, what was uploaded, and the search from there."""
    strip = html.Details(
        [
            html.Summary("Suppliers’ lists"),
            html.Div([_current(), _reading()], className="lists-two"),
            html.Div(id="lists-found"),
            html.Div(id="lists-plan", role="status"),
            html.Div(
                [
                    html.Button("Search again with these lists", id="lists-search", className="main-button"),
                    html.Span(id="lists-fault", role="status", className="fault"),
                ],
                id="lists-buttons",
                className="buttons",
                hidden=True,
            ),
            dcc.Store(id="lists-kept", storage_type="session"),
            dcc.Download(id="lists-file"),
        ],
        id="lists-strip",
    )
    return html.Section(strip, **{"aria-label": "suppliers’ lists"})


def _current() -> html.Div:
    """The lists of this front, and the way to have them in one."""
    button = html.Button("Download them in our own columns (CSV)", id="lists-download", className="quiet")
    return html.Div([html.Div(id="lists-current"), button])


def _reading() -> html.Div:
    """Where files come in."""
    asked = html.Div(
        [
            html.Button("Read a list or a declaration", id="lists-choose", className="quiet"),
            html.Span(" or drop the files here.", className="muted"),
        ]
    )
    parts = [
        asked,
        *(html.P(words, className="muted small") for words in ABOUT),
        html.Div(id="lists-words", role="status"),
    ]
    return html.Div(parts, id="lists-drop", className="lists-drop")


def current_lists(lists: Sequence[ListFacts]) -> list:
    """The lists that this front was searched with."""
    if not lists:
        return []
    head = html.Tr(
        [html.Th("list"), html.Th("products", className="right"), html.Th("suppliers"), html.Th("valid until")]
    )
    body = [
        html.Tr(
            [
                html.Td(each.shown),
                html.Td(spelt(len(each.products), ","), className="right"),
                html.Td(", ".join(each.suppliers), className="muted"),
                html.Td(_validity(each), className="muted"),
            ]
        )
        for each in lists
    ]
    return [html.Table([html.Thead(head), html.Tbody(body)], className="part-table lists-table")]


def _validity(facts: ListFacts) -> str:
    """Until when the prices of a list hold, the first to end."""
    days = sorted({each.valid_until for each in facts.products if each.valid_until})
    if not days:
        return "not stated"
    return days[0].isoformat() if len(days) == 1 else f"{days[0].isoformat()} and later"


def upload_part(upload: Upload, lists: Sequence[ListFacts], named: Mapping[str, int]) -> html.Div:
    """One upload: what was read of it and where it goes, or every fault. named: declaration -> products naming it."""
    drop = html.Button("Take it away", id={"type": "lists-drop", "upload": upload.key}, className="quiet")
    mapping = [html.Span(f"read with {upload.mapping}", className="muted")] if upload.mapping else []
    head = [html.B(upload.name), *mapping, *_about(upload, lists, named), drop]
    return html.Div([html.Div(head, className="upload-head"), *_faults(upload)], className="upload-part")


def _about(upload: Upload, lists: Sequence[ListFacts], named: Mapping[str, int]) -> list:
    if not upload.good:
        why = many(upload.fault_count, "fault") if upload.fault_count else "it cannot be read"
        return [html.Span(f"not used: {why}. Mend the file and read it again.")]
    if upload.kind == DECLARATIONS:
        return [html.Span(_declared_words(upload, named))]
    sold = f"{many(len(upload.keys), 'product')} of {listed(list(upload.suppliers))}, {listed(list(upload.currencies))}"
    if upload.passed_over:
        sold += f"; passed over, as no prices stand there: {listed(list(upload.passed_over))}"
    options = [{"label": "beside the others", "value": BESIDE}]
    options += [{"label": f"in place of {each.shown}", "value": each.name} for each in lists]
    choice = dcc.Dropdown(
        options,
        usual_place(upload, lists),
        id={"type": "lists-place", "upload": upload.key},
        clearable=False,
        searchable=False,
    )
    return [html.Span(sold), html.Span(choice, className="noun", title="Where this list goes")]


def _declared_words(upload: Upload, named: Mapping[str, int]) -> str:
    """Which declarations a file holds, and whether a product names them."""
    users = sum(named.get(each, 0) for each in upload.declared)
    about = [
        f"{each['name']}, per {each['unit'] or 'a unit it does not state'}"
        + (f", valid until {each['valid_until']}" if each["valid_until"] else "")
        for each in upload.declarations
    ]
    if users:
        return f"{listed(about)}: named by {many(users, 'product')} on the lists"
    key = min(sorted(upload.declared), key=len)
    return f"{listed(about)}: no product on the lists names it; its key for the column “declaration” is {key}"


def _faults(upload: Upload) -> list:
    """Why an upload can't be used: in words, or cell by cell."""
    words = [html.P(line, className="fault-line") for line in upload.words.splitlines()]
    if not upload.faults:
        return words
    sheets = any(each["sheet"] for each in upload.faults)
    heads = [*(["sheet"] if sheets else []), "row", "column", "value", "expected"]
    rows = [
        html.Tr(
            [
                *([html.Td(each["sheet"] or "")] if sheets else []),
                html.Td(each["row"], className="right"),
                html.Td(each["column"] or "–"),
                html.Td(_short(each["value"]) or "empty", className="" if each["value"] else "muted"),
                html.Td(each["expected"]),
            ]
        )
        for each in upload.faults[:MOST_ROWS]
    ]
    head = html.Tr([html.Th(word, className="right" if word == "row" else "") for word in heads])
    left = upload.fault_count - len(rows)
    more = (
        [html.P(f"and {spelt(left, ',')} more; “wallfront prices” lists them all", className="muted small")]
        if left > 0
        else []
    )
    table = html.Table([html.Thead(head), html.Tbody(rows)], className="part-table faults-table")
    return [*words, html.Div(table, className="faults"), *more]


def _short(value: str) -> str:
    return value if len(value) <= 60 else f"{value[:57]}..."


def naming(lists: Iterable[ListFacts], uploads: Iterable[Upload]) -> dict[str, int]:
    """Declaration (lower case) -> how many products name it; an uploaded list counts once for each name."""
    count: dict[str, int] = {}
    names = [each.declaration_key for facts in lists for each in facts.products if each.declaration_key]
    for name in (*names, *(name for each in uploads if each.kind == PRICES for name in each.named)):
        count[name.lower()] = count.get(name.lower(), 0) + 1
    return count
