"""What stands in the place of a front where there is none to show: why, and what to do next."""

from __future__ import annotations

from typing import Any

from dash import html

WAY_OUT = "Loosen what binds, or switch more on under “Change what each slot may hold”, and search again."
RESUME = "“Resume” takes the search up where it stopped; “Back to the study” leaves it."
BACK = "Check the number in the address, or go “Back to the study”, the front that this explorer was opened on."
SEARCH = "“wallfront search BRIEF --out DIR” makes a study; “wallfront serve DIR” opens the explorer on it."


def nothing_part() -> html.Section:
    """The place of these words; a callback fills and shows it."""
    return html.Section(id="nothing", hidden=True, **{"aria-label": "why there is no front"})


def nothing_words(source: Any, run: str | None) -> list:
    """Why no front is shown, beyond what the line of the search says, and the way on; nothing where there is a front.

    run: the search that the address names; None for the study itself.
    """
    if source.rows:
        return []
    if source.alive:
        return [
            html.H2("Looking for walls that meet the brief"),
            html.P("The first ones appear here as they are found."),
        ]
    if source.status == "infeasible":
        missing = [html.P(line) for line in source.message.splitlines()]
        return [html.H2("What is missing"), *missing, html.P(WAY_OUT)]
    ways = [RESUME] if source.status in ("failed", "cancelled") else [BACK if run else SEARCH]
    return [html.H2("What to do next"), *map(html.P, ways)]
