"""What the command prints of conduction: one wall's U, where heat bridges it, how sure it is; a front's proof."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from ..conduction.figures import error_bound, place_words

if TYPE_CHECKING:
    from rich.console import Console

    from ..conduction.breaks import Breaks
    from ..conduction.figures import NumericFigures, Unsolved
    from ..conduction.uncertainty import Spread

MOST_NAMED = 12  # walls named in a line
LEAST_SHARE = 0.005  # share of the variance below which a cause is not printed


def unsolved(console: Console, failure: Unsolved) -> None:
    """Why there is no U by conduction."""
    from rich.markup import escape

    console.print(f"no U by conduction: {escape(failure.reason)}", soft_wrap=True)


def numeric(console: Console, figures: NumericFigures) -> None:
    """U between its limits, the coldest place, transmittances of studs and ties, and the two tables."""
    heat, coldest = figures.heat, figures.coldest
    console.print(
        f"[bold]U by conduction {heat.u_value:.4f} W/m2K, at most {error_bound(heat.u_error):.4f} more or less[/bold] "
        f"(ISO 10211; {place_words(heat.placed)})"
    )
    console.print(
        f"  between {figures.u_least:.4f} (R') and {figures.u_most:.4f} (R''), their mean resistance gives "
        f"{figures.u_combined:.4f}, off by {figures.u_combined / heat.u_value - 1:+.1%}",
        soft_wrap=True,
    )
    console.print(
        f"  coldest place of the inside surface: f_Rsi {heat.f_rsi:.3f}, {coldest.surface_c:.1f} °C in {coldest.month} "
        f"({coldest.outside_c:g} °C outside, {coldest.inside_c:g} °C inside); "
        f"{heat.f_rsi_moisture:.3f} with the surface resistance of moisture calculations",
        soft_wrap=True,
    )
    transmittances = []
    if heat.psi_w_mk is not None:
        transmittances.append(f"psi {heat.psi_w_mk:.4f} W/mK of a stud")
    if heat.chi_w_k is not None:
        transmittances.append(f"chi {heat.chi_w_k:.5f} W/K of a tie")
    if transmittances:
        console.print(f"  {', '.join(transmittances)}")
    _breaks(console, figures.breaks)
    _spread(console, figures.spread)


def _breaks(console: Console, breaks: Breaks) -> None:
    from rich.markup import escape
    from rich.table import Table

    console.print(f"heat bridges: {breaks.by_members:.1%} of the heat loss is due to members, plates and openings")
    crossed = [each for each in breaks.through if each.what != "layer"]
    for each in crossed:
        console.print(
            f"  {each.layer} {escape(each.role)}: {each.what} take {each.of_area:.1%} of the area, "
            f"{each.of_heat:.1%} of the heat"
            if each.what != "fill"
            else f"  {each.layer} {escape(each.role)}: fill takes {each.of_area:.1%}, {each.of_heat:.1%}"
        )
    table = Table(box=None, pad_edge=False, header_style="dim")
    for title in ("the same wall with", "U W/m2K", "difference", "ISO 6946"):
        table.add_column(title, justify="left" if title.startswith("the") else "right")
    for each in breaks.others:
        if each.u_value is None:
            table.add_row(each.name, "?", "", escape(each.reason or ""))
            continue
        combined = "refused" if each.u_combined is None else f"{each.u_combined:.4f}"
        difference = "" if each.difference == 0 else f"{each.difference:+.4f}"
        table.add_row(each.name, f"{each.u_value:.4f}", difference, combined)
    console.print(table)


def _spread(console: Console, spread: Spread) -> None:
    from rich.markup import escape

    chance = "" if spread.chance is None else f"; {spread.chance:.0%} chance of at most {spread.target:g}"
    console.print(
        f"under the stated ranges U is {spread.mean:.4f} in the mean, "
        f"{spread.p5:.4f} to {spread.p95:.4f} in nine of ten{chance}",
        soft_wrap=True,
    )
    drivers = [f"{name} {share:.0%}" for name, share in spread.drivers if share >= LEAST_SHARE]
    if drivers:
        console.print(f"  driven by {escape(', '.join(drivers))}", soft_wrap=True)


@contextmanager
def proof_progress(quiet: bool = False) -> Iterator[Callable[[int, int], None] | None]:
    """A bar of walls solved; yields the function to call."""
    if quiet:
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("conduction solved"), BarColumn(bar_width=24), MofNCompleteColumn(), TimeElapsedColumn())
    bar = Progress(*columns, console=Console(stderr=True))
    task = bar.add_task("", start=False)

    def watch(done: int, total: int) -> None:
        if not bar.live.is_started:  # with the first walls: a study that cannot be read gets its message and no bar
            bar.start()
            bar.start_task(task)
        bar.update(task, completed=done, total=total)

    try:
        yield watch
    finally:
        if bar.live.is_started:
            bar.stop()


def proof(summary: dict[str, Any], rows: list[dict[str, Any]]) -> None:
    """The proof of a front in words. summary: `numeric` of study.json; rows: of front.csv."""
    solved = [row for row in rows if row["u_numeric"] is not None]
    print(
        f"{len(solved)} of {len(rows)} walls solved by conduction (ISO 10211), grids to "
        f"{summary['tolerance']:.2%}, in {summary['seconds']:.1f} s"
    )
    if solved:
        widest = max(row["u_numeric_error"] / row["u_numeric"] for row in solved)
        print(
            f"the limits of U lie within {widest:.1%} of their middle; timber without a place (round openings, corner "
            "studs) widens them"
        )
        off = [row["u_value"] / row["u_numeric"] - 1 for row in solved]
        print(f"the combined method is off by {min(off):+.1%} to {max(off):+.1%} from that middle")
    for wall, reason in summary["unsolved"].items():
        print(f"{wall}: not solved: {reason}")
    if summary["undecided"]:
        print(f"undecided, the target between the limits of their U: {_names(summary['undecided'])}")
    if summary["flagged"]:
        print(f"above the target by conduction, at their lower limit: {_names(summary['flagged'])}")


def _names(walls: Sequence[str]) -> str:
    more = len(walls) - MOST_NAMED
    return ", ".join(walls[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
