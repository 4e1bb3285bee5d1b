"""Heat through one wall by conduction, in the wall panel: U, temperatures, heat bridges, how sure it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from dash import html

from optimiser.conduction.breaks import Breaks, Other, Through
from optimiser.conduction.figures import NumericFigures, error_bound, place_words
from optimiser.locales import many
from optimiser.search.landmarks import missing
from optimiser.search.numeric_front import meets, misses
from optimiser.search.numeric_worker import ProofState
from optimiser.wall.buildup import BuildUp

from ..numbers import spelt
from ..words import listed, u_goal
from .conduction_axis import alike, bounds_svg, drivers, spread_svg
from .conduction_field import Field, field_of
from .conduction_figure import degrees, picture_svg
from .facts import FactRow, FactTable
from .panel import table
from .working import lowered

TITLE = "Heat through the wall, solved"
CLOSED = "U by conduction, temperatures inside, heat bridges"
MOST_NAMED = 8  # walls in a line
SAME_U = 5e-5  # W/m2K, what four decimals show as equal


def conduction_fold() -> html.Details:
    """Where it stands in the panel; it is worked out when it is first opened."""
    summary = html.Summary(
        [html.B(TITLE), " ", html.Span(id="conduction-words", className="muted")], id="conduction-head", n_clicks=0
    )
    body = html.Div(
        [
            html.P("Solving the conduction through the wall…", id="conduction-wait", className="muted", hidden=True),
            html.Div(
                [
                    html.Div(id="conduction-u"),
                    html.Div(id="bounds", className="drawing", tabIndex=0),
                    html.H3("Temperatures inside"),
                    html.P(id="conduction-plane", className="muted small"),
                    html.Div(id="temperatures", className="drawing", tabIndex=0),
                    html.Div(id="conduction-coldest"),
                    html.Div(id="conduction-breaks"),
                    html.H3("How sure U is"),
                    html.Div(id="conduction-sure"),
                    html.Div(id="spread", className="drawing", tabIndex=0),
                    html.Div(id="conduction-drivers"),
                ],
                id="conduction-found",
                hidden=True,
            ),
            html.P(id="conduction-fault", hidden=True),
        ]
    )
    return html.Details([summary, body], id="conduction-part", className="part", hidden=True)


PARTS = ("u", "bounds", "temperatures", "spread", "plane", "coldest", "breaks", "sure", "drivers")


def parts_of(wall: BuildUp, solved: NumericFigures) -> dict[str, Any]:
    """All that stands in the fold of a wall that was solved, by `PARTS`."""
    field, month = field_of(wall, solved), solved.coldest.month
    return {
        "u": u_part(solved),
        "bounds": bounds_svg(solved),
        "temperatures": picture_svg(wall, field, month=month),
        "spread": spread_svg(solved),
        "plane": plane_words(field, month),
        "coldest": coldest_part(solved),
        "breaks": breaks_part(solved),
        "sure": chance_words(solved),
        "drivers": drivers_part(solved),
    }


# -- words ---------------------------------------------------------------------------------------------------------


def u_exact(value: float) -> str:
    """U [W/m2K] to four decimals."""
    return spelt(value, ".4f")


def percent(share: float, digits: int = 1) -> str:
    """A share in percent."""
    return f"{spelt(100 * share, f'.{digits}f')} %".replace("-", "−")


def head_words(row: Mapping[str, Any] | None) -> str:
    """Beside the name of the fold: what the proof of the front found of this wall, where it did."""
    if row is None or missing(row.get("u_numeric")):
        return CLOSED
    over, target = row["u_numeric"] - row["target"], u_goal(row["target"])
    if misses(dict(row)):
        verdict = f"misses {target} by {u_exact(over)}"
    else:
        verdict = f"meets {target}" if meets(dict(row)) else f"undecided at {target}"
    return f"U by conduction {u_exact(row['u_numeric'])}, {verdict}"


def u_words(solved: NumericFigures) -> list[str]:
    """U by conduction, its limits, the bounds, and how far the combined method is off."""
    heat = solved.heat
    lines = [
        f"U {u_exact(heat.u_value)} W/m²K, at most {u_exact(error_bound(heat.u_error))} more or less: by conduction "
        f"through the wall (ISO 10211), {place_words(heat.placed)}.",
        _between(solved),
    ]
    if (verdict := target_words(solved)) is not None:
        lines.insert(1, verdict)
    return lines


def _between(solved: NumericFigures) -> str:
    """The bounds, and how far the combined method is off."""
    if alike(solved):
        return "Nothing crosses its insulation: both limits of ISO 6946 come to the same value."
    off = solved.u_combined / solved.heat.u_value - 1
    return (
        f"The upper limit of resistance R′ gives {u_exact(solved.u_least)}, the lower R″ {u_exact(solved.u_most)}; U "
        f"lies between. The combined method of ISO 6946 gives {u_exact(solved.u_combined)}, "
        f"{percent(abs(off))} {'above' if off >= 0 else 'below'} U by conduction."
    )


def target_words(solved: NumericFigures) -> str | None:
    """Whether U by conduction meets the target: its upper limit must."""
    target, value, error = solved.spread.target, solved.heat.u_value, solved.heat.u_error
    if target is None:
        return None
    if value + error <= target:
        return f"It meets U {u_goal(target)}, {u_exact(target - value - error)} to spare at its upper limit."
    if value - error > target:
        return f"It misses U {u_goal(target)} by {u_exact(value - target)}."
    return f"Undecided: U {u_goal(target)} lies between its limits."


def coldest_words(solved: NumericFigures) -> str:
    """The coldest place of the inside surface."""
    cold = solved.coldest
    return (
        f"Coldest place of the inside surface: {degrees(cold.surface_c)} in {cold.month}, f_Rsi "
        f"{spelt(solved.heat.f_rsi, '.3f')} ({degrees(cold.outside_c)} outside, {degrees(cold.inside_c)} inside); "
        f"{spelt(solved.heat.f_rsi_moisture, '.3f')} with the surface resistance of moisture calculations."
    )


def point_words(solved: NumericFigures) -> str:
    """Transmittances of a stud and of a tie."""
    heat, said = solved.heat, []
    if heat.psi_w_mk is not None:
        said.append(f"A line of studs or battens adds ψ {spelt(heat.psi_w_mk, '.4f')} W/mK")
    if heat.chi_w_k is not None:
        said.append(f"{'a' if said else 'A'} tie adds χ {spelt(heat.chi_w_k, '.5f')} W/K")
    return f"{', '.join(said)}." if said else ""


def plane_words(field: Field, month: str) -> str:
    """Which plane is shown, and how to read it."""
    return (
        f"Plan section of one bay in {month}, {field.where}. Lines of equal temperature every "
        f"{'2' if field.ends[1] - field.ends[0] <= 24 else '5'} K; dark is cold."
    )


def chance_words(solved: NumericFigures) -> str:
    """The spread of U and the chance of the target in words."""
    spread = solved.spread
    said = f"Nine of ten walls built of this lie between U {u_exact(spread.p5)} and {u_exact(spread.p95)}."
    if spread.chance is None:
        return said
    return f"{said} The chance that it meets {u_goal(spread.target)} as built is {percent(spread.chance, 0)}."


# -- tables --------------------------------------------------------------------------------------------------------


def through_table(breaks: Breaks) -> FactTable:
    """Share of area and heat of every member and of the fill beside it."""
    crossed = [each for each in breaks.through if each.what != "layer"]
    return FactTable(("", "layer", "through", "of the area", "of the heat"), tuple(map(_through, crossed)), words=3)


def _through(each: Through) -> FactRow:
    shares = percent(each.of_area), percent(each.of_heat)
    return FactRow((str(each.layer), each.role, each.what, *shares), "off" if each.what == "fill" else "", each.layer)


def others_table(breaks: Breaks) -> FactTable:
    """The same wall with other members, each with what that changes."""
    return FactTable(
        ("the same wall with", "U, W/m²K", "difference", "share"), tuple(_other(each, breaks) for each in breaks.others)
    )


def _other(each: Other, breaks: Breaks) -> FactRow:
    if each.u_value is None:
        return FactRow((each.name, "–", "", ""), hint=each.reason or "")
    if each.difference == 0:
        return FactRow((each.name, u_exact(each.u_value), "", ""))
    sign = "−" if each.difference < 0 else "+"
    change = f"{sign}{u_exact(abs(each.difference))}"
    if abs(each.difference) < SAME_U:
        change = "the same"
    return FactRow(
        (each.name, u_exact(each.u_value), change, f"{sign}{percent(abs(each.difference) / breaks.u_value)}")
    )


# -- components ----------------------------------------------------------------------------------------------------


def u_part(solved: NumericFigures) -> list:
    """What is known of U, in sentences."""
    return [html.P(words, className="first" if not number else "") for number, words in enumerate(u_words(solved))]


def coldest_part(solved: NumericFigures) -> list:
    """The coldest place, and what studs and ties add."""
    return [html.P(lowered(words)) for words in (coldest_words(solved), point_words(solved)) if words]


def breaks_part(solved: NumericFigures) -> list:
    """Its heat bridges: shares of heat, and the same wall with other members."""
    parts = solved.breaks
    crossed = through_table(parts)
    return [
        html.H3("Heat bridges in this wall"),
        html.P(
            f"{percent(parts.by_members)} of the heat loss is due to studs, ties, battens, plates and openings."
            if parts.by_members > 0
            else "Nothing crosses the insulation of this wall."
        ),
        *([table(crossed, "through")] if crossed.rows else []),
        table(others_table(parts), "others"),
    ]


def drivers_part(solved: NumericFigures) -> list:
    """What drives the spread, as short bars with their share of the variance."""
    driving = list(drivers(solved))
    if not driving:
        return []
    rows = [
        html.Div(
            [
                html.Span(name),
                html.Span(html.Span(style={"width": f"{100 * share:.1f}%"}), className="driver-bar"),
                html.Span(percent(share, 0), className="right"),
            ],
            className="driver",
        )
        for name, share in driving
    ]
    return [html.P("Share of the variance that would go were each known:", className="muted small"), *rows]


# -- the proof of the front ----------------------------------------------------------------------------------------


def proof_line(summary: Mapping[str, Any], count: int) -> str:
    """What the proof of the front found; empty where it was not proven."""
    numeric = summary.get("numeric")
    if not isinstance(numeric, dict):
        return ""
    missed, unsolved = numeric.get("flagged") or [], numeric.get("unsolved") or {}
    undecided = numeric.get("undecided") or []
    tolerance = f"{spelt(100 * numeric['tolerance'], 'g')} %"
    solved = many(count - len(unsolved), "wall")
    whose = f"{solved} of {count}" if unsolved else f"All {solved}"
    verdict = "none misses for certain" if undecided else "none misses"
    if missed:
        verdict = f"{named(missed)} {'misses' if len(missed) == 1 else 'miss'} the target"
    said = f"{whose} solved by conduction (ISO 10211) to {tolerance}: {verdict}"
    between = f"; undecided, the target between the limits of U: {named(undecided)}" if undecided else ""
    rest = f"; not solved: {named(list(unsolved))}" if unsolved else ""
    return f"{said}{between}{rest}."


def named(walls: Sequence[str]) -> str:
    """Walls by name, not too many of them."""
    if len(walls) <= MOST_NAMED:
        return listed(list(walls))
    return f"{', '.join(walls[:MOST_NAMED])} and {many(len(walls) - MOST_NAMED, 'more', 'more')}"


def proving_words(state: ProofState) -> str:
    """While the front is being proven: how far it is; why it stopped, where it failed."""
    if state.status == "failed":
        return f"conduction not solved: {state.message}"
    if not state.alive:
        return ""
    return (
        f"solving the conduction of {many(state.total, 'wall')}: {spelt(state.done, ',')} done"
        if state.total
        else "starting to solve the conduction of every wall"
    )
