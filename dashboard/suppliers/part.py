"""The view of the suppliers: what each means for the front, and the prices at which products would enter it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import dash_ag_grid as dag
from dash import dcc, html

from optimiser.locales import many
from optimiser.market.suppliers import SupplierFronts
from optimiser.market.suppliers_worker import FRONTS, Comparison

from ..front.plot_parts import HEIGHT
from ..words import QUANTITIES, symbol
from .comparison_words import BEST, LEVER_NOUNS, BreakEvens, compared_keys, plain_name

EVERY = "every supplier"
OPENING = (
    "Whose products make the better wall, and at what price would another one? For that the front is searched anew "
    "without each supplier, and with each alone in timber, boards, membranes and insulation, each to its end. Then "
    "each product that is on no wall is asked at what price it would enter. It takes about a minute, and is kept with "
    "the study."
)
GRID = {
    "rowSelection": {"mode": "singleRow", "enableClickSelection": True, "checkboxes": False},
    "rowHeight": 28,
    "headerHeight": 30,
    "groupHeaderHeight": 26,
    "animateRows": False,
    "suppressCellFocus": False,
    "suppressColumnVirtualisation": True,
    "theme": {"function": "wallTheme(themeQuartz)"},
    "enableBrowserTooltips": True,
}
PRICE_TABLE = f"{46 + 13 * GRID['rowHeight'] + 1}px"  # its heading of two lines, and whole rows


def suppliers_part() -> list:
    """The whole view, nothing in it yet."""
    return [
        dcc.Store(id="suppliers-stamp"),
        dcc.Store(id="suppliers-acted"),
        dcc.Store(id="suppliers-picked"),
        dcc.Interval(id="suppliers-tick", interval=700, disabled=True),
        dcc.Download(id="suppliers-file"),
        _status(),
        html.Div([_sentence(), _plot(), _cases()], id="suppliers-fronts", hidden=True),
        html.Div(_prices(), id="suppliers-prices", hidden=True),
        html.Div(id="suppliers-hold", className="suppliers-hold"),
    ]


def _status() -> html.Div:
    """Before, while and after the suppliers are compared; what is read out changes less often than the progress."""
    return html.Div(
        [
            html.Div(
                [html.H2("What does each supplier mean for the front?"), html.P(OPENING)],
                id="suppliers-opening",
                className="suppliers-opening",
                hidden=True,
            ),
            html.Div(id="suppliers-head", className="suppliers-head", role="status"),
            html.Div(id="suppliers-progress"),
            html.Div(
                [
                    html.Button("Compare the suppliers", id="suppliers-start", className="main-button", hidden=True),
                    html.Button("Stop comparing", id="suppliers-stop", className="quiet", hidden=True),
                    html.Span(id="suppliers-fault", role="status", className="fault"),
                ],
                className="buttons",
            ),
        ],
        id="suppliers-status",
        className="suppliers-status",
        hidden=True,
    )


def _noun(control: str, title: str, options: Sequence[dict] = (), value: str | None = None, **more: Any) -> html.Span:
    menu = dcc.Dropdown(
        list(options), value, id=control, clearable=False, maxHeight=420, **{"searchable": False} | more
    )
    return html.Span(menu, className="noun", title=title)


def _sentence() -> html.Div:
    return html.Div(
        [
            "How would the front lie ",
            _noun("suppliers-case", "Which supplier is left out, or sells alone"),
            "? Across runs ",
            _noun("suppliers-x", "What runs across"),
            ", up ",
            _noun("suppliers-y", "What runs up"),
            ".",
        ],
        className="sentence",
    )


def _plot() -> html.Div:
    return html.Div(
        [
            dcc.Graph(
                id="suppliers-plot",
                config={"displayModeBar": False, "responsive": True, "doubleClick": False},
                style={"height": HEIGHT},
            ),
            html.P(
                [
                    html.Span("●", className="key ink"),
                    " today’s front ",
                    html.Span("●", className="key accent"),
                    " new on the other ",
                    html.Span("◉", className="key both"),
                    " on both. Click a point to see its wall.",
                ],
                className="muted small plot-note",
            ),
            html.Div(id="suppliers-words", className="suppliers-words", role="status"),
            html.Div(id="suppliers-picked-words", className="suppliers-picked", role="status", hidden=True),
        ]
    )


def _cases() -> html.Div:
    return html.Div(
        [
            html.Div(
                [
                    html.Span(
                        [
                            html.B("Every supplier."),
                            html.Span(" Arrow keys walk through the table.", className="muted small"),
                        ]
                    ),
                    html.Button("Walls of this front as CSV", id="suppliers-csv", className="quiet"),
                ],
                className="table-head",
            ),
            html.Div(
                _grid("suppliers-table", {"cellFocused": ["selectFocusedRow(params)"]}),
                role="group",
                **{"aria-label": "every supplier"},
            ),
            html.P(
                "Stay: walls of today’s front that are left. Best: how much the best of each figure gets worse. Like "
                "for like: for each of today’s walls against the best that is left and no worse in all else, the "
                "median; none left: for how many at most there is no such wall.",
                className="muted small table-words",
            ),
            html.P(id="suppliers-kept", className="muted small table-words"),
        ]
    )


def _grid(name: str, listeners: Mapping[str, list[str]] | None = None) -> dag.AgGrid:
    return dag.AgGrid(
        id=name,
        columnDefs=[],
        rowData=[],
        defaultColDef={"resizable": True, "sortable": True, "suppressMovable": True},
        dashGridOptions=GRID | {"domLayout": "autoHeight"} if listeners else GRID,
        getRowId="params.data.id",
        eventListeners=dict(listeners or {}),
        style={"height": None, "width": "100%"} if listeners else {"height": PRICE_TABLE, "width": "100%"},
    )


def _prices() -> list:
    levers = [{"label": noun, "value": lever} for lever, noun in LEVER_NOUNS.items()]
    return [
        html.Div(
            [
                "At what ",
                _noun("suppliers-lever", "Which figure of a product is moved", levers, "price"),
                " would a product of ",
                _noun("suppliers-of", "Whose products are listed", [{"label": EVERY, "value": ""}], ""),
                " enter the front?",
            ],
            className="sentence prices-sentence",
        ),
        html.Div(
            [
                html.P(id="suppliers-lever-words"),
                html.Button("Work it out", id="suppliers-lever-start", className="main-button", hidden=True),
            ],
            className="prices-words",
        ),
        html.Div(
            _grid("suppliers-price-table"),
            id="suppliers-price-part",
            role="group",
            **{"aria-label": "break-even values"},
        ),
        html.Div(id="suppliers-others"),
    ]


# -- what it is filled with ----------------------------------------------------------------------------------------


def status_parts(
    state: Comparison, has_fronts: bool, searched: bool, can: bool, left: float | None = None
) -> tuple[list, list]:
    """(what is read out, how far it is). searched: the front itself is still being searched; can: there is a front;
    left: about how long the part under way takes yet [s], None where that is not known."""
    if searched:
        return [html.B("The front is still being searched."), " Its suppliers can be compared when it has settled."], []
    if not can:
        return [html.B("There is no front to compare suppliers for.")], []
    if state.alive:
        return [html.B("Comparing the suppliers.")], [progress(state, left)]
    if state.status == "cancelled" and not has_fronts:
        return [html.B("Stopped."), " What was finished is kept."], []
    if state.status == "failed":
        return [html.B("The comparison ended early."), f" {state.message}"], []
    if has_fronts:
        return [html.B("The prices at which products would enter are not worked out yet.")], []
    return [], []


def progress(state: Comparison, left: float | None = None) -> html.Div:
    """What is being worked out, how far it is, about how long it takes yet [s], and what was settled last."""
    fronts = state.part in (FRONTS, "")
    what = "Fronts" if fronts else f"Break-even {LEVER_NOUNS[state.part]}"
    thing = "case" if fronts else "product"
    share = state.done / state.total if state.total else 0.0
    count = f"{state.done} of {many(state.total, thing)}" if state.total else f"the first {thing} is being worked out"
    count += f", {left_words(left)}" if left is not None and state.done < state.total else ""
    latest = html.Span(plain_name(state.words), className="muted") if state.words else None
    bar = html.Div(html.Span(style={"width": f"{100 * share:.1f}%"}), className="share-bar", **{"aria-hidden": "true"})
    return html.Div([html.Span([f"{what}: {count}. ", latest]), bar], className="suppliers-progress")


def left_words(seconds: float) -> str:
    """'about 40 s left', 'about 3 min left'."""
    about = f"{max(10, 10 * round(seconds / 10))} s" if seconds < 95 else f"{round(seconds / 60)} min"
    return f"about {about} left"


def case_columns(fronts: SupplierFronts, currency: str) -> list[dict]:
    """Columns of the table of cases; where no wall is left, its reason stands over all figures."""
    like = compared_keys(fronts)
    wide = 3 + len(fronts.objectives) + len(like)
    walls = _number("walls", "walls", ",d", 50) | {
        "colSpan": {"function": f"params.data.reason ? {wide} : 1"},
        "valueFormatter": {"function": "params.data.reason || spelt(d3.format(',d')(params.value))"},
        "cellClassRules": {"told": "params.data.reason"},
        "tooltipField": "reason",
    }
    best = [_change(f"best_{key}", f"{BEST[key]} {_short_unit(key, currency)}", key) for key in fronts.objectives]
    like_columns = [
        _change(f"like_{key}", f"{QUANTITIES[key].short} {_short_unit(key, currency)}", key) for key in like
    ]
    return [
        {"field": "case", "headerName": "supplier", "flex": 1, "minWidth": 236, "tooltipField": "case"},
        {"headerName": "front", "children": [walls, _number("stay", "stay", ",d", 46)]},
        {"headerName": "the best of each", "children": best},
        {"headerName": "like for like", "children": [*like_columns, _number("gone", "none left", ",d", 50)]},
    ]


def _short_unit(key: str, currency: str) -> str:
    units = {"thickness_mm": "mm", "cost_per_m2": f"{symbol(currency).strip()}/m²", "weight_kg_m2": "kg/m²"}
    return units.get(key, "kg/m²")


def _number(field: str, name: str, shown: str, width: int) -> dict:
    return _formatted(field, name, width, f"params.value == null ? '' : spelt(d3.format('{shown}')(params.value))")


def _formatted(field: str, name: str, width: int, function: str) -> dict:
    """A column of figures, to the right, its heading on as many lines as it takes."""
    return {
        "field": field,
        "headerName": name,
        "width": width,
        "type": "rightAligned",
        "valueFormatter": {"function": function},
        "wrapHeaderText": True,
        "autoHeaderHeight": True,
    }


def _change(field: str, name: str, key: str) -> dict:
    """A change with its sign, '0' where there is none, '–' where there is nothing to compare."""
    shown, least = ("+,.1~f", 0.05) if key == "thickness_mm" else ("+,.2f", 0.005)
    function = (
        f"params.data.reason ? '' : params.value == null ? '–' : Math.abs(params.value) < {least} ? '0' : "
        f"spelt(d3.format('{shown}')(params.value))"
    )
    return _formatted(field, name, 68, function)


def price_columns(rows: Sequence[Mapping[str, Any]], lever: str, currency: str) -> list[dict]:
    """Columns of the break-even table: the figure today, where it would enter, and by how much it must fall."""
    formatter = "params.value == null ? '' : spelt(d3.format(',.' + params.data.digits + 'f')(params.value))"
    units = {row["per"] for row in rows}
    if lever == "price":
        money = symbol(currency).strip()
        heads, per = (f"today {money}", f"enters at {money}"), [{"field": "per", "headerName": "per", "width": 40}]
    else:
        unit = f" {next(iter(units))}" if len(units) == 1 else ""
        heads, per = (f"today{unit}", f"enters at{unit}"), []
    wide = 66 if lever == "price" else 88
    fall = (
        "params.value == null ? '–' : params.value < 0.001 ? '< ' + spelt('0.1') + ' %' : "
        "spelt(d3.format('.1f')(100 * params.value)) + ' %'"
    )
    wall = {"field": "wall", "headerName": "in this wall", "flex": 3, "minWidth": 116, "tooltipField": "wall"}
    return [
        {"field": "product", "headerName": "product", "flex": 2, "minWidth": 158, "tooltipField": "product"},
        {"field": "supplier", "headerName": "supplier", "flex": 1, "minWidth": 112, "tooltipField": "supplier"},
        {"field": "where", "headerName": "as", "width": 84, "tooltipField": "where"},
        _formatted("today", heads[0], wide, formatter) | {"colId": f"today-{lever}"},  # else cells keep their digits
        _formatted("at", heads[1], wide, f"params.data.near ? 'as today' : {formatter}") | {"colId": f"at-{lever}"},
        *per,
        _formatted("fall", "must fall", 74, fall) | {"sort": "asc"},
        wall | {"sortable": False},
    ]


NEVER_WORDS = {
    "price": "not even as a gift",
    "carbon": "not even without any carbon of its making",
    "conductivity": "not even at a third of its conductivity",
}


def other_parts(prices: BreakEvens, lever: str) -> list:
    """Products that no value lets in, and those that the brief leaves out, folded."""
    parts = []
    if prices.never:
        head = f"{many(len(prices.never), 'product')} would not enter, {NEVER_WORDS[lever]}"
        lines = [html.Li([name, html.Span(f": {why}" if why else "", className="muted")]) for name, why in prices.never]
        hint = "Even then, every wall with it is beaten by one without it, or does not pass."
        parts.append(
            html.Details([html.Summary(head), html.P(hint, className="muted"), html.Ul(lines)], className="part")
        )
    if prices.others:
        count = sum(map(len, prices.others.values()))
        lines = [
            html.Li([html.Span(f"{reason} ({len(names)}): "), html.Span("; ".join(names), className="muted")])
            for reason, names in sorted(prices.others.items(), key=lambda each: -len(each[1]))
        ]
        head = f"{many(count, 'product')} cannot come in under this brief, at any {LEVER_NOUNS[lever]}"
        parts.append(html.Details([html.Summary(head), html.Ul(lines)], className="part"))
    return parts
