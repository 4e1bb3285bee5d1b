"""What the command prints for people. Rich is imported where it is used, to keep the start short."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ..brief.brief import Brief
    from ..checks.judge import Judged
    from ..checks.mend import Mend
    from ..search.run import Watch
    from ..search.second_opinion import SecondOpinion

NOT_CHECKED = "Fire is not checked. Structure, moisture and fire belong to licensed practice; local codes govern."


RULE_WORDS = {True: "passes      ", False: "[bold]fails[/bold]       ", None: "[dim]not checked[/dim] "}


@contextmanager
def search_progress(brief: Brief, quiet: bool = False) -> Iterator[Watch | None]:
    """A progress line with front size, best thickness and hypervolume; yields the function to call."""
    if quiet:
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    console = Console(stderr=True)
    columns = (TextColumn("{task.description}"), BarColumn(bar_width=24), TextColumn("{task.fields[standing]}"))
    bar = Progress(*columns, TimeElapsedColumn(), console=console)
    rounds = brief.search.start_generations if brief.search.complete else brief.search.generations
    tasks = {target: bar.add_task(f"U at most {target:g}", total=rounds, standing="") for target in brief.target.all}

    def watch(at, _archive) -> None:
        bar.start()  # with the first generation: a brief that cannot be searched gets its message and no bar
        best = "" if at.best_thickness_mm is None else f", thinnest {at.best_thickness_mm:.1f} mm"
        if at.settled is None:
            words = f"{at.front_size} on the front{best}, hypervolume {at.hypervolume:.4f}"
            bar.update(tasks[at.target], completed=at.generation, standing=words)
        else:
            words = f"{at.front_size} on the front{best}, {settled_words(at.settled)} of the space settled"
            bar.update(tasks[at.target], completed=at.settled * rounds, standing=words)

    try:
        yield watch
    finally:
        if bar.live.is_started:
            bar.stop()


def settled_words(share: float) -> str:
    """A share of the space in percent, never rounded up to the whole: 99.97 %."""
    if share >= 1.0:
        return "100 %"
    return f"{int(share * 1e4) / 100:.2f} %"


@contextmanager
def verify_progress(quiet: bool) -> Iterator[Callable[[str, int], None] | None]:
    """A line that counts the walls tried; yields the function to call."""
    from rich.console import Console

    if quiet:
        yield None
        return
    with Console(stderr=True).status("reading the study") as status:
        yield lambda kind, total: status.update(f"{total:,} walls tried, now {kind}".replace(",", " "))


SHARED = (
    "shared with the search: how the figures and checks of a wall are worked out, and which walls can be built\n"
    "not shared: how walls are looked for, compared and left out\n"
    "not worked out again: stability and chance; a solved U is held to the bounds of ISO 6946"
)


def verdict(opinion: SecondOpinion, study: Path) -> None:
    """The second opinion in words."""
    print(f"{opinion.rows} rows of the front, each rebuilt from its build-up file and judged as `check` does")
    for kind, count in opinion.tried.items():
        print(f"{count:,} {kind}".replace(",", " "))
    print(SHARED)
    if opinion.refused:
        print(f"{study}: what does not hold:")
    for each in opinion.refused:
        print(f"  {each.words()}")
    if opinion.missed:
        print(f"{study}: the front misses walls that pass; of {opinion.total:,} tried:".replace(",", " "))
    for each in opinion.missed:
        figures = ", ".join(f"{key} {value:g}" for key, value in each.items() if isinstance(value, float))
        print(f"  {each['in_short']} ({figures})")
    if not opinion.refused:
        print(f"{study}: every row is the wall it says, and none is beaten or doubled")
    if not opinion.missed:
        words = "a proof, as these are all there are" if opinion.whole else "no proof, as there are more"
        tried = f"{opinion.total:,} walls tried".replace(",", " ")
        print(f"{tried}: none passes that the front of {study} does not match ({words})")


def judgement(judged: Judged, currency: str, mends: Sequence[Mend] = ()) -> None:
    """One wall, readable, with what would mend the checks that it fails."""
    from rich.console import Console
    from rich.markup import escape
    from rich.table import Table

    console = Console(highlight=False)
    heat = judged.heat
    console.print(f"[bold]{escape(judged.wall.name)}[/bold]")
    table = Table(box=None, pad_edge=False, header_style="dim")
    for title, side in (
        ("", "right"),
        ("layer, outside first", "left"),
        ("", "left"),
        ("mm", "right"),
        ("R m2K/W", "right"),
        ("kg/m2", "right"),
        ("kgCO2e/m2", "right"),
        (f"{currency}/m2" if currency else "", "right"),
    ):
        table.add_column(title, justify=side)
    for each in judged.layers:
        table.add_row(
            str(each.number),
            escape(each.role),
            escape(each.text),
            f"{each.thickness_mm:g}",
            f"{each.resistance_m2k_w:.3f}" if each.resistance_m2k_w else "",
            _number(each.weight_kg_m2, 1),
            _number(each.carbon_kgco2e_m2, 1),
            _number(each.cost_per_m2, 1) if currency else "",
        )
    console.print(table)
    console.print(
        f"Rsi {heat.r_si:g}, Rse {heat.r_se:g}; R' {heat.r_upper:.3f}, R'' {heat.r_lower:.3f}, "
        f"R {heat.r_total:.3f} m2K/W, correction {heat.correction:.4f} W/m2K, "
        f"relative error at most {heat.relative_error:.1%} (ISO 6946)"
    )
    u_value = "none by this method" if heat.refused else f"{heat.u_value:.3f} W/m2K"
    weight = _number(judged.weight_kg_m2, 0) or "?"
    console.print(f"[bold]U {u_value}[/bold], {judged.thickness_mm:g} mm, {weight} kg/m2")
    if judged.numeric is not None:
        from ..conduction.figures import Unsolved
        from .printing_numeric import numeric, unsolved

        (unsolved if isinstance(judged.numeric, Unsolved) else numeric)(console, judged.numeric)
    _carbon(console, judged)
    if currency:
        price = _number(judged.cost_per_m2, 1)
        unknown = f"cost unknown: no price for {escape(', '.join(judged.unpriced))}"
        words = f"cost {price} {currency}/m2" if price else unknown
        console.print(words)
    if judged.cost is not None:
        _cost(console, judged, currency)
    _verdicts(console, judged, mends)
    console.print(f"[dim]{NOT_CHECKED}[/dim]")


def _carbon(console, judged: Judged) -> None:
    """What counts of the carbon, what is stored and how that ends, and the heat lost where the brief asks for it."""
    from rich.markup import escape

    carbon = judged.carbon
    if carbon.score is not None:
        console.print(f"carbon {carbon.score:.1f} kgCO2e/m2 ({carbon.scope})")
    if carbon.stored:
        console.print(f"stored {-carbon.stored:.1f} kgCO2/m2 while it stands, never netted off")
        for words in carbon.stored_words:
            console.print(f"  [dim]{escape(words)}[/dim]", soft_wrap=True)
    if carbon.operational is not None:
        line = f"heat lost over {carbon.study_years:g} years {carbon.operational:.1f} kgCO2e/m2"
        whole = "" if carbon.whole_life is None else f"; whole life, with the carbon above, {carbon.whole_life:.1f}"
        console.print(line + whole)


def _cost(console, judged: Judged, currency: str) -> None:
    """What the cost is made of: by layer and part, by supplier, and the hours by operation."""
    from rich.markup import escape
    from rich.table import Table

    from ..score.cost_parts import PARTS

    table = Table(box=None, pad_edge=False, header_style="dim")
    table.add_column("", justify="right")
    table.add_column(f"{currency}/m2")
    for title in (*PARTS, "all"):
        table.add_column(title, justify="right")
    layers = [(str(each.number), escape(each.role), each.cost_parts) for each in judged.layers]
    for number, role, parts in (*layers, ("", "wall", judged.cost.by_part)):
        values = [*(getattr(parts, each) for each in PARTS), parts.total]
        table.add_row(number, role, *("?" if value is None else f"{value:.2f}" if value else "" for value in values))
    console.print(table)
    paid = sorted(judged.cost.by_supplier.items(), key=lambda each: -each[1])
    if paid:
        words = ", ".join(f"{escape(name)} {value:.1f}" for name, value in paid)
        console.print(f"by supplier, {currency}/m2: {words}", soft_wrap=True)
    hours = judged.cost.labour_hours
    if hours:
        words = ", ".join(f"{name} {value:.2f}" for name, value in hours.items())
        console.print(f"labour {judged.cost.labour_h_per_m2:.2f} h/m2: {words}", soft_wrap=True)


def _verdicts(console, judged: Judged, mends: Sequence[Mend]) -> None:
    """The checks besides heat, a line each."""
    from rich.markup import escape

    from ..checks.check_table import CHECKS
    from ..checks.common.check import NotJudged
    from ..checks.mend import UNMENDED

    verdicts = judged.verdicts
    for check in CHECKS:
        verdict = verdicts[check]
        if isinstance(verdict, NotJudged):
            console.print(f"[dim]not checked[/dim]  {check.label}: {escape(verdict.reason)}")
            continue
        word = "passes" if verdict.passes else "[bold]fails[/bold] "
        console.print(f"{word}       {check.label}: {escape(check.words(verdict))}")
        if not verdict.passes:
            lines = [f"mend: {each.words}" for each in mends if each.check == check.name] or [UNMENDED]
            for line in lines:
                console.print(f"             {escape(line)}", soft_wrap=True)
        for note in verdict.notes:
            console.print(f"             {escape(note)}")
        if verdict.caution:
            console.print(f"             [dim]{escape(verdict.caution)}[/dim]")
    for each in verdicts.rules:
        verdict = RULE_WORDS[each.passes]
        console.print(f"{verdict} {escape(each.rule)}: {escape(each.words)}")


def _number(value: float | None, digits: int) -> str:
    return "" if value is None else f"{value:.{digits}f}"
