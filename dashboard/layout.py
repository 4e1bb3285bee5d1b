"""The one page: what stands where. No content of any study is in it."""

from __future__ import annotations

import dash_ag_grid as dag
from dash import dcc, html

from .choosing.shortlist import keep_part, shortlist_part, shortlist_stores
from .front.deciding_parts import stores as deciding_stores
from .front.none import nothing_part
from .front.plot_parts import narrowing, plot, question
from .guide import MAIN, guide, guide_link, skip_link
from .pricelists.lists import lists_strip
from .suppliers.swaps_part import swaps_fold
from .views import FRONT, compare_view, suppliers_view, view_links
from .wall.conduction_part import conduction_fold
from .wall.panel import folded
from .wall.working import working_part

DRAWN = ("profile", "water", "bounds", "temperatures", "spread")  # drawings in the panel besides the section
GRID = {
    "rowSelection": {"mode": "singleRow", "enableClickSelection": True, "checkboxes": False},
    "rowHeight": 28,
    "headerHeight": 30,
    "animateRows": False,
    "suppressCellFocus": False,
    "tabToNextCell": {"function": "false"},  # Tab leaves the table; the arrow keys walk in it
    "tabToNextHeader": {"function": "false"},
    "suppressColumnVirtualisation": True,
    "enableBrowserTooltips": True,
    "theme": {"function": "wallTheme(themeQuartz)"},
    "isExternalFilterPresent": {"function": "true"},
    "doesExternalFilterPass": {"function": "wallKept(params)"},
    "localeText": {"noRowsToShow": "No wall lies within these ranges and locks."},
}
HANDED = (
    "Drawings (SVG, DXF), calculation (PDF, HTML), order and cutting plan, filling sheet, wall type (IFC), in one "
    "archive; some seconds. Not for construction until checked by a licensed person."
)


def page() -> html.Div:
    """The whole page."""
    column = html.Div([_front(), _more()], className="column")
    main = html.Main([nothing_part(), column, suppliers_view(), _wall(), compare_view()], id=MAIN, tabIndex=-1)
    parts = [_machinery(), _spoken(), skip_link(), _header(), guide(), _status(), _strips(), main]
    return html.Div(parts, className="page")


def _spoken() -> html.Div:
    """What is read out to a listener and not shown."""
    return html.Div(id="spoken-words", role="status", className="unseen")


def _machinery() -> html.Div:
    """Where the page keeps what this reader chose: stores, address, clock, download."""
    stores = ["run", "wall", "version", "base", "mine", "svg", "drawn", "addressed", "placed", "spans", "spoken"]
    return html.Div(
        [
            dcc.Location(id="url", refresh=False),
            *(dcc.Store(id=name) for name in stores),
            *deciding_stores(),
            *(dcc.Store(id=f"{name}-{kind}") for name in DRAWN for kind in ("svg", "drawn")),
            *shortlist_stores(),
            dcc.Store(id="theme", data="light"),
            dcc.Store(id="view", data=FRONT),
            dcc.Store(id="viewed"),
            dcc.Store(id="screen", data={"width": 760}),
            dcc.Interval(id="tick", interval=800, disabled=True),
            dcc.Interval(id="proof-tick", interval=1500, disabled=True),
            dcc.Download(id="csv-file"),
            dcc.Download(id="build-up-file"),
            dcc.Download(id="own-sheet-file"),
        ]
    )


def _header() -> html.Header:
    return html.Header(
        [
            html.H1("wallfront"),
            view_links(),
            html.P(id="brief", className="muted"),
            html.Details(
                [
                    html.Summary(
                        [
                            html.B(id="result"),
                            " ",
                            html.Span(id="result-beside", className="muted small"),
                            html.Span(id="proving", className="muted small"),
                        ],
                        title="How the other walls were excluded",
                    ),
                    html.Div([html.Div(id="proof"), html.P(id="proof-numeric")], className="proof"),
                ],
                id="proof-part",
                className="result closed",
            ),
            guide_link(),
            html.Button(
                "dark", id="theme-toggle", className="quiet", title="Switch between the dark and the light page"
            ),
        ]
    )


def _status() -> html.Section:
    """Progress and trouble of a search; what is read out of it changes less often than what is shown."""
    return html.Section(
        [
            html.Div([html.B(id="status-head"), html.Span(id="status-words")], id="status"),
            html.Div(
                [
                    html.Button("Stop the search", id="cancel", className="quiet", hidden=True),
                    html.Button("Resume", id="resume", className="quiet", hidden=True),
                    html.Button("Back to the study", id="back", className="quiet", hidden=True),
                ],
                className="buttons",
            ),
        ],
        id="status-line",
        hidden=True,
        **{"aria-label": "the search"},
    )


def _strips() -> html.Div:
    """What opens above the front to search again: the slots, and the suppliers' lists."""
    return html.Div([_slots(), lists_strip()], id="strips", className="strips")


def _slots() -> html.Section:
    strip = html.Details(
        [
            html.Summary("Change what each slot may hold, and search again"),
            html.Div(id="slots"),
            html.Div(
                [
                    html.Button("Search again with these", id="search-again", className="main-button"),
                    html.Span(id="slots-words", role="status", className="fault"),
                ],
                className="buttons",
            ),
        ],
        id="slots-strip",
    )
    return html.Section(strip, **{"aria-label": "what each slot may hold"})


def _front() -> html.Section:
    return html.Section([question(), plot(), narrowing()], id="front", className="front", **{"aria-label": "the front"})


def _more() -> html.Section:
    """What follows the plot and the chosen wall: on a wide screen under the plot, on a narrow one under the wall."""
    parts = [shortlist_part(), _mine(), _table()]
    return html.Section(parts, id="front-more", className="front", **{"aria-label": "shortlist and table"})


def _table() -> html.Div:
    return html.Div(
        [
            html.Div(
                [
                    html.Span(
                        [html.B(id="count"), html.Span(" Arrow keys walk through the table.", className="muted small")]
                    ),
                    html.Button("Download as CSV", id="csv", className="quiet"),
                ],
                className="table-head",
            ),
            dag.AgGrid(
                id="table",
                columnDefs=[],
                rowData=[],
                defaultColDef={"resizable": True, "sortable": True, "suppressMovable": True},
                dashGridOptions=GRID,
                getRowId="params.data.id",
                eventListeners={"cellFocused": ["selectFocusedRow(params)"]},
                style={"height": "430px", "width": "100%"},
            ),
        ],
        id="table-part",
        hidden=True,  # until it has its columns
    )


def _mine() -> html.Section:
    return html.Section(
        [
            html.Div(
                [
                    html.B("My wall "),
                    dcc.Upload(
                        html.Button("Put a build-up file beside the front", className="quiet"),
                        id="mine-file",
                        accept=".toml",
                        multiple=False,
                        className="upload",
                        className_active="upload active",
                    ),
                    html.Button("Take it away", id="mine-clear", className="quiet", hidden=True),
                ],
                className="mine-head",
            ),
            html.Div(id="mine-words", role="status"),
        ],
        className="mine",
    )


def _wall() -> html.Aside:
    return html.Aside(
        [
            html.Div(id="wall-name", className="wall-name", role="status"),
            html.Div(id="so-far"),
            html.Div(id="figures", className="figures"),
            keep_part(),
            html.Div(id="drawing", className="drawing"),
            html.Div(id="layers"),
            html.Details(
                [html.Summary(id="equals-head"), html.Div(id="equals-list", className="small")],
                id="equals",
                className="equals",
                hidden=True,
            ),
            html.H2("What a step costs", id="steps-head", hidden=True),
            html.Div(id="steps"),
            swaps_fold(),
            html.H2("Where it goes, layer by layer", id="bars-head", hidden=True),
            html.Div(id="by-layer"),
            folded("carbon-head", "carbon-body", "carbon-part", "Carbon by module"),
            folded("cost-head", "cost-body", "cost-part", "Cost by part"),
            html.H2("Judgements", id="judgements-head", hidden=True),
            html.Div(id="judgements"),
            conduction_fold(),
            working_part(),
            html.Div(
                [
                    html.A("Print view with the U-value worked", id="print", target="_blank", rel="noopener"),
                    html.Button(
                        "Print view as a file, with the U-value worked", id="own-sheet", className="quiet", hidden=True
                    ),
                    html.A("Hand over: all documents", id="handover", title=HANDED, download=""),
                    html.Button("Build-up file", id="build-up", className="quiet"),
                ],
                id="wall-links",
                className="links",
                hidden=True,
            ),
        ],
        id="wall-panel",
        **{"aria-label": "the chosen wall"},
    )
