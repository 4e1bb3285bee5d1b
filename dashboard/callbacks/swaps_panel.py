"""Other products in each place of the chosen wall, worked out when their fold is open."""

from __future__ import annotations

from typing import Any

from dash import Dash, Input, Output, State, html

from materials.errors import InputError
from optimiser.locales import many

from ..rows.choose import by_id
from ..suppliers.swaps_part import swap_groups, swap_parts


def register(app: Dash, workspace: Any) -> None:
    """Tie the fold to the chosen wall."""

    @app.callback(
        Output("swaps-part", "hidden"),
        Output("swaps", "children"),
        Output("swaps-words", "children"),
        Input("settled", "data"),
        Input("base", "data"),
        Input("swaps-head", "n_clicks"),
        State("run", "data"),
    )
    def swaps(chosen, base, opened, run):
        source = workspace.source(run)
        row = by_id(source.rows, chosen) if source.study else None
        if row is None:
            return True, [], ""
        if not (opened or 0) % 2:
            return False, [], "and what each would change"
        try:
            groups = swap_groups(workspace.comparing.swaps(source, chosen), row, source.brief, source.currency)
        except InputError as error:
            return False, [html.P(str(error))], ""
        every = [line for each in groups for line in each.lines]
        passing = sum(line.passes for line in every)
        return (
            False,
            swap_parts(groups, source.currency, source.asked),
            f"{passing} of {many(len(every), 'other')} pass",
        )
