"""Break-even values: at which price, carbon or conductivity a product would enter the front."""

from __future__ import annotations

from typing import Any

from dash import Dash, Input, Output, State
from dash.exceptions import PreventUpdate

from ..suppliers.comparison_view import break_even_view
from ..suppliers.comparisons import LEVERS


def register(app: Dash, workspace: Any) -> None:
    """Tie the table to what is kept with the study."""

    @app.callback(
        output={
            "words": Output("suppliers-lever-words", "children"),
            "start_hidden": Output("suppliers-lever-start", "hidden"),
            "table_hidden": Output("suppliers-price-part", "hidden"),
            "rows": Output("suppliers-price-table", "rowData"),
            "columns": Output("suppliers-price-table", "columnDefs"),
            "others": Output("suppliers-others", "children"),
            "options": Output("suppliers-of", "options"),
            "supplier": Output("suppliers-of", "value"),
        },
        inputs={
            "stamp": Input("suppliers-stamp", "data"),
            "lever": Input("suppliers-lever", "value"),
            "supplier": Input("suppliers-of", "value"),
            "target": State("target", "value"),
            "run": State("run", "data"),
        },
    )
    def prices(stamp, lever, supplier, target, run):
        if stamp is None or lever not in LEVERS:
            raise PreventUpdate
        source = workspace.source(run)
        return break_even_view(workspace.comparing.compared(source, target), lever, supplier, source.currency)
