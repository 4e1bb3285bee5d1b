"""What `wallfront suppliers` prints for people, and the table it writes. Rich is imported where it is used."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rich.console import Console

    from ..market.suppliers import SupplierFront, SupplierFronts
    from ..market.swaps import Swap

UNITS = {  # figure -> what it is called, its unit (cost has the brief's currency) and digits
    "thickness_mm": ("thickness", "mm", 1),
    "cost_per_m2": ("cost", "", 2),
    "carbon_kgco2e_m2": ("carbon", "kgCO2e/m2", 2),
    "weight_kg_m2": ("weight", "kg/m2", 1),
    "whole_life_kgco2e_m2": ("whole life", "kgCO2e/m2", 2),
}
TITLES = {
    "price": "Break-even prices",
    "carbon": "Break-even carbon of making",
    "conductivity": "Break-even conductivities",
}
DIGITS = {"price": 2, "carbon": 3, "conductivity": 4}
SWAPPED = ("thickness_mm", "u_value", "cost_per_m2", "carbon_kgco2e_m2")


@contextmanager
def progress(what: str, quiet: bool) -> Iterator[Callable[[int, int, str], None] | None]:
    """A progress line: how many of how many are done, and the latest; yields the function to call."""
    if quiet:
        yield None
        return
    from rich.console import Console
    from rich.markup import escape
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn(what), BarColumn(bar_width=24), MofNCompleteColumn(), TimeElapsedColumn())
    with Progress(*columns, TextColumn("{task.fields[at]}", style="dim"), console=Console(stderr=True)) as bar:
        task = bar.add_task("", at="")
        yield lambda done, total, words: bar.update(task, completed=done, total=total, at=escape(words))


def fronts(comparison: SupplierFronts, currency: str) -> None:
    """The fronts without each supplier and with one alone in a category."""
    console = _console()
    proof = "complete" if comparison.complete else "not proven complete"
    console.print(
        f"[bold]Suppliers[/bold], U at most {comparison.target:g}: {comparison.walls} walls on the front ({proof})"
    )
    if comparison.fronts:
        left, more = _front_tables(comparison, currency)
        console.print(left)
        console.print(
            "[dim]stay: walls of the front that remain. least: how much the lowest of all goes up. volume: share of "
            "the front's dominated volume.[/dim]\n"
        )
        console.print(more)
        console.print(
            "[dim]more: for each wall of the front, against the least among the walls left that are no worse in the "
            "other objectives: median/worst, and how many find none left.[/dim]"
        )
    else:
        console.print("one supplier sells all that the brief lets in: there is nothing to compare")
    for each in comparison.fronts:
        if each.reason is not None:
            console.print(f"{_safe(each.case.words())}: {_safe(each.reason)}")
        if each.share < 1.0:
            from .printing import settled_words

            console.print(f"{_safe(each.case.words())}: {settled_words(each.share)} of its space settled")
    exempt = {line: None for each in comparison.fronts for line in each.exempt}
    if exempt:
        console.print(f"[dim]kept in every comparison, the brief holds its place: {_safe('; '.join(exempt))}[/dim]")


def _front_tables(comparison: SupplierFronts, currency: str) -> Iterator[Any]:
    """Two tables that a narrow terminal holds: what is left of the front, and what the walls left cost more.

    A row for every case; of those that leave no wall the reason is told below.
    """
    keys = comparison.objectives
    compared = [key for key in keys if key != "thickness_mm"] or list(keys)
    left = _table("", "\nwalls", "\nstay", *(f"least\n{UNITS[key][0]}" for key in keys), "\nvolume")
    more = _table("")
    for key in compared:
        name, unit, _ = UNITS[key]
        more.add_column(f"more {name}\n{unit or f'{currency}/m2'}", justify="right")
        more.add_column("none\nleft", justify="right")
    groups = {"left out": comparison.without}
    groups |= {f"{each} by one alone": comparison.alone(each) for each in comparison.categories}
    for table, cells in (
        (left, lambda each: _left_cells(each, keys)),
        (more, lambda each: _more_cells(each, compared)),
    ):
        table.columns[0].no_wrap = True
        for title, rows in groups.items():
            table.add_row(f"[bold]{title}[/bold]")
            for each in rows:
                table.add_row(_safe(each.case.supplier), *cells(each))
        yield table


def _left_cells(each: SupplierFront, keys: Sequence[str]) -> list[str]:
    cells = [str(len(each)), str(each.losses.stay if each.losses else 0)]
    if each.losses is not None and len(each):
        cells += [_signed(each.losses.best[key], UNITS[key][2]) for key in keys]
        cells.append("" if each.losses.volume is None else f"{each.losses.volume:.1%}")
    return cells


def _more_cells(each: SupplierFront, compared: Sequence[str]) -> list[str]:
    if each.losses is None or not len(each):
        return []
    return [cell for key in compared for cell in _more(each.losses.like_for_like[key], UNITS[key][2])]


def _more(more: Any, digits: int) -> list[str]:
    """Median and worst, and how many have nothing to be compared with."""
    none = str(more.unreached) if more.unreached else ""
    if more.median is None:
        return ["", none]
    return [f"{_signed(more.median, digits)}/{_signed(more.worst, digits)}", none]


def swaps(changes: Sequence[Swap], wall: str, in_short: str, currency: str, asked: Collection[str] = ()) -> None:
    """The swaps of one wall, under each of its products. asked: figures that the brief minimises or limits."""
    console = _console()
    console.print(f"[bold]{_safe(wall)}[/bold] {_safe(in_short)}: one product swapped for another")
    units = {"thickness_mm": "mm", "u_value": "U W/m2K", "cost_per_m2": f"{currency}/m2", "carbon_kgco2e_m2": "kgCO2e"}
    units |= {"weight_kg_m2": "kg/m2", "whole_life_kgco2e_m2": "whole life"}
    shown = (*SWAPPED, *(key for key in list(units)[len(SWAPPED) :] if key in asked))
    table = _table("", *(units[key] for key in shown))
    table.add_column("")
    last = None
    for each in changes:
        head = (each.places, each.product)
        if head != last:
            places = " + ".join(each.places)
            table.add_row(f"[bold]{_safe(places)}[/bold]: {_safe(_sold(each.name, each.supplier))}")
            last = head
        digits = {"thickness_mm": 1, "u_value": 4}
        cells = [_signed(each.change.get(key), digits.get(key, 2)) for key in shown]
        mark = "= " if each.same_kind else "  "
        table.add_row(f"{mark}{_safe(_sold(each.rival_name, each.rival_supplier))}", *cells, _safe(_verdict(each)))
    console.print(table)
    console.print("[dim]= the same material and size by another supplier[/dim]")


def _sold(name: str, supplier: str) -> str:
    return f"{name}, {supplier}" if supplier and supplier not in name else name


def _verdict(swap: Swap) -> str:
    if swap.reason is not None:
        return "cannot be built: " + "; ".join(each.split(":")[0] for each in swap.reason.split("; "))
    if swap.fails:
        return f"fails {', '.join(swap.fails)}"
    return f"passes, {swap.wall}" if swap.wall else "passes"


def break_evens(values: Sequence[dict[str, Any]], lever: str) -> None:
    """Products that stand on no wall of the front: the price, carbon or conductivity at which one with it would."""
    console = _console()
    console.print(f"[bold]{TITLES[lever]}[/bold] of products on no wall of the front, the least change first")
    table = _table("", "today", "enters at", "change")
    table.add_column("of")
    table.add_column("with it")
    for each in sorted((each for each in values if each["at"] is not None), key=lambda each: -(each["change"] or 0.0)):
        change = "" if each["change"] is None else f"{each['change']:+.1%}"
        figures = (f"{each[key]:.{DIGITS[lever]}f}" for key in ("today", "at"))
        cells = (*figures, change, _safe(each["unit"]), _safe(each["in_short"]))
        table.add_row(_safe(_sold(each["name"], each["supplier"])), *cells)
    console.print(table)
    others: dict[str, list[str]] = {}
    for each in values:
        if each["at"] is None:
            others.setdefault(each["reason"].split(" (")[0], []).append(each["product"])
    for reason, products in others.items():
        console.print(f"[dim]{_safe(reason)} ({len(products)}): {_safe(', '.join(products))}[/dim]")


def laid_over(comparison: SupplierFronts, full: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """The walls of the full front and of every case under each other, as rows of a CSV.

    A name that begins like a formula stands behind other words in every cell.
    """
    from ..market.suppliers import FIGURES

    columns = dict.fromkeys((*FIGURES, *comparison.objectives))
    rows = [
        {"case": "all suppliers", "id": row["id"]}
        | {key: row.get(key) for key in columns}
        | {"in_short": row["in_short"]}
        for row in full
        if row["target"] == comparison.target
    ]
    for front in comparison.fronts:
        walls = front.walls
        for at in range(len(front)):
            figures = {key: walls[key][at] for key in columns}
            row = {"case": front.case.words(), "id": walls["id"][at]}
            rows.append(row | figures | {"in_short": walls["in_short"][at]})
    return rows


def _console() -> Console:
    from rich.console import Console

    return Console(highlight=False)


def _table(first: str, *numbers: str) -> Any:
    from rich.table import Table

    table = Table(box=None, pad_edge=False, header_style="dim")
    table.add_column(first)
    for title in numbers:
        table.add_column(title, justify="right")
    return table


def _safe(text: str) -> str:
    from rich.markup import escape

    return escape(text)


def _signed(value: float | None, digits: int) -> str:
    if value is None:
        return ""
    return f"{value:+.{digits}f}" if round(value, digits) else "0"
