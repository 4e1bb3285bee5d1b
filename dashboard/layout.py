"""The one page: what stands where. No content of any study is in it."""

from __future__ import annotations

import dash_ag_grid as dag
from dash import dcc, html

from .words import NARROWED, QUANTITIES
from .working import working_part

GRID = {
    "rowSelection": {"mode": "singleRow", "enableClickSelection": True, "checkboxes": False},
    "rowHeight": 28,
    "headerHeight": 30,
    "animateRows": False,
    "suppressCellFocus": False,
    "suppressColumnVirtualisation": True,
    "theme": {"function": "wallTheme(themeQuartz)"},
    "localeText": {"noRowsToShow": "No wall lies within these ranges."},
}


def page() -> html.Div:
    """The whole page."""
    parts = [_machinery(), _spoken(), _header(), _status(), _slots(), html.Main([_front(), _wall()])]
    return html.Div(parts, className="page")


def _spoken() -> html.Div:
    """What is read out to a listener and not shown."""
    return html.Div(id="spoken-words", role="status", className="unseen")


def _machinery() -> html.Div:
    """Where the page keeps what this reader chose: stores, address, clock, download."""
    stores = ["run", "wall", "version", "base", "mine", "svg", "drawn", "addressed", "spans", "plotted", "spoken"]
    return html.Div(
        [
            dcc.Location(id="url", refresh=False),
            *(dcc.Store(id=name) for name in stores),
            *(dcc.Store(id=f"{name}-{kind}") for name in ("profile", "water") for kind in ("svg", "drawn")),
            dcc.Store(id="theme", data="light"),
            dcc.Store(id="screen", data={"width": 760}),
            dcc.Interval(id="tick", interval=800, disabled=True),
            dcc.Download(id="csv-file"),
            dcc.Download(id="build-up-file"),
            dcc.Download(id="own-sheet-file"),
        ]
    )


def _header() -> html.Header:
    return html.Header(
        [
            html.H1("wallfront"),
            html.P(id="brief", className="muted"),
            html.Details(
                [
                    html.Summary(
                        [html.B(id="result"), " ", html.Span(id="result-beside", className="muted small")],
                        title="How the other walls were excluded",
                    ),
                    html.Div(id="proof", className="proof"),
                ],
                id="proof-part",
                className="result closed",
            ),
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
    )


def _slots() -> html.Details:
    return html.Details(
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


def _noun(control: str, value: str, label: str) -> html.Span:
    """A noun of the question that is also its control."""
    options = [{"label": each.noun, "value": each.key} for each in QUANTITIES.values()]
    return html.Span(
        dcc.Dropdown(options, value, id=control, clearable=False, searchable=False, maxHeight=320),
        className="noun",
        title=label,
    )


def _question() -> html.Div:
    return html.Div(
        [
            html.Div(
                [
                    "How does ",
                    _noun("x", "thickness_mm", "What runs across"),
                    " trade against ",
                    _noun("y", "carbon_kgco2e_m2", "What runs up"),
                    "? Colour shows ",
                    _noun("colour", "cost_per_m2", "What the colour shows"),
                    " ",
                    html.Span(id="colour-words", className="muted"),
                ],
                className="sentence",
            ),
            html.Div(
                [
                    html.Span("U at most "),
                    html.Span(
                        dcc.Dropdown(id="target", clearable=False, searchable=False),
                        className="noun",
                        title="The target [W/m²K] whose front is shown",
                    ),
                    html.Span(id="target-price"),
                ],
                id="target-part",
                className="target-part",
                hidden=True,
            ),
        ],
        className="question",
    )


def _slider(key: str) -> html.Div:
    quantity = QUANTITIES[key]
    return html.Div(
        [
            html.Div(
                [html.B(quantity.short), html.Span(id=f"range-{key}", className="muted")], className="slider-head"
            ),
            html.Div(id=f"bars-{key}", className="histogram", **{"aria-hidden": "true"}),
            dcc.RangeSlider(
                0,
                1,
                value=[0, 1],
                id=f"slider-{key}",
                marks=None,
                allowCross=False,
                allow_direct_input=False,
                tooltip=None,
            ),
        ],
        className="slider",
        role="group",
        **{"aria-label": f"narrow {quantity.short}"},
    )


def _front() -> html.Section:
    return html.Section(
        [
            _question(),
            html.Div(
                [
                    dcc.Graph(
                        id="plot",
                        config={"displayModeBar": False, "responsive": True, "doubleClick": False},
                        style={"height": "385px"},
                    ),
                    html.Div(id="plot-message", className="plot-message", hidden=True),
                ],
                className="plot-holder",
            ),
            _narrowing(),
            _mine(),
            _table(),
        ],
        className="front",
        **{"aria-label": "the front"},
    )


def _narrowing() -> html.Div:
    return html.Div(
        [
            html.Div(
                [
                    html.Span(
                        [
                            "Points: walls that no other beats in everything. ",
                            html.Span("Grey, along a line: other targets. ", className="family-note"),
                            "Faint: beaten. Hollow: outside your ranges.",
                        ]
                    ),
                    dcc.Checklist(
                        [{"label": "log across", "value": "x"}, {"label": "log up", "value": "y"}],
                        [],
                        id="log",
                        inline=True,
                        className="log",
                    ),
                ],
                className="muted small plot-note",
            ),
            html.Div([_slider(key) for key in NARROWED], className="sliders"),
        ],
        id="narrowing",
    )


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
            html.H2("Where it goes, layer by layer", id="bars-head", hidden=True),
            html.Div(id="by-layer"),
            html.H2("Judgements", id="judgements-head", hidden=True),
            html.Div(id="judgements"),
            working_part(),
            html.Div(
                [
                    html.A("Print view with the U-value worked", id="print", target="_blank", rel="noopener"),
                    html.Button(
                        "Print view as a file, with the U-value worked", id="own-sheet", className="quiet", hidden=True
                    ),
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
