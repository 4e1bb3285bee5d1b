"""The command. Thin: parses, calls, prints. Heavy libraries are imported inside the commands that need them."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Annotated

import typer

from materials.errors import InputError

from . import interrupting, own_walls, printing
from .searching import NO, UNUSABLE, YES, catalogue_with, naming, prove_and_tell, search_and_save

app = typer.Typer(
    name="wallfront",
    help="From a heat-loss target to the trade-off front of timber-frame walls that can be built.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,  # plain help starts in half the time
)

DEMO_FOLDER = Path("wallfront-demo")

AsJson = Annotated[bool, typer.Option("--json", help="Print JSON for programs.")]
Port = Annotated[int, typer.Option(help="Port of the explorer.", min=1, max=65535)]
NoBrowser = Annotated[bool, typer.Option("--no-browser", help="Print the address without opening a browser.")]
Host = Annotated[str, typer.Option(help="Address to answer at; 0.0.0.0 for others on the network, behind a token.")]
Token = Annotated[
    str | None,
    typer.Option(help="Token of your own, at least 16 characters.", envvar="WALLFRONT_TOKEN", show_envvar=True),
]
LOCAL = "127.0.0.1"


def demo_brief() -> Path:
    """The shipped brief."""
    return Path(__file__).parents[1] / "demo" / "brief.toml"


@app.command()
def demo(
    out: Annotated[Path, typer.Option(help="Study folder to write.")] = DEMO_FOLDER,
    port: Port = 8050,
    host: Host = LOCAL,
    token: Token = None,
    no_browser: NoBrowser = False,
) -> None:
    """Search the shipped brief and open the explorer on the front."""
    from dashboard.access import token_for
    from dashboard.app import check_port

    token = token_for(host, token)
    check_port(port, host)
    if search_and_save(demo_brief(), out, as_json=False) == interrupting.CODE:
        raise typer.Exit(interrupting.CODE)
    _serve(out, port, host, token, no_browser)


@app.command()
def search(
    brief: Annotated[Path, typer.Argument(metavar="BRIEF.toml", help="The brief.")],
    out: Annotated[Path, typer.Option(help="Study folder to write; an earlier study there is replaced.")],
    as_json: AsJson = False,
) -> None:
    """Search the walls of a brief and write a study folder."""
    code = search_and_save(brief, out, as_json, prove=True)
    if code != YES:
        raise typer.Exit(code)


@app.command()
def check(
    buildup: Annotated[Path, typer.Argument(metavar="BUILDUP.toml", help="The build-up.")],
    brief: Annotated[Path | None, typer.Option(help="Brief that judges it where the file is silent.")] = None,
    numeric: Annotated[bool, typer.Option(help="Solve the conduction: U, heat bridges, how sure.")] = False,
    as_json: AsJson = False,
) -> None:
    """Judge one wall: U-value with both limits, thickness, weight, carbon, checks; cost and what is asked with a brief.

    What the file states itself goes before the brief; a product that it names brings its own values.
    """
    from dataclasses import replace

    from ..checks.check_table import Demands
    from ..checks.mend import mends
    from ..conduction.figures import Unsolved, numeric_figures

    held = own_walls.held(buildup, brief)
    asked, pricing = held.brief, held.pricing
    demands = None if asked is None else Demands.of(asked)
    with naming(buildup):
        judged = held.judged()
        mended = mends(judged.wall, held.catalogue, pricing, demands, judged)
        if numeric:
            try:
                judged = replace(judged, numeric=numeric_figures(judged.wall, asked, held.catalogue))
            except InputError as error:  # the rest of the wall is judged all the same
                judged = replace(judged, numeric=Unsolved(str(error)))
    if as_json:
        failed = {"mends": [each.as_json() for each in mended]} if judged.verdicts.failed else {}
        currency = {"currency": pricing.currency} if pricing else {}
        currency |= {"brief": own_walls.by_brief(judged, asked)} if asked else {}
        print(json.dumps(judged.as_json() | currency | failed, ensure_ascii=False, allow_nan=False))
    else:
        printing.judgement(judged, pricing.currency if pricing else "", mended)
        if asked is not None:
            print(own_walls.by_brief_words(judged, asked))
    unsolved = judged.numeric.reason if isinstance(judged.numeric, Unsolved) else None
    # A numerical calculation stands in the place of the one that is refused.
    refused = unsolved or (judged.heat.refused if not numeric else None)
    if refused:
        print(f"{buildup}: {refused}", file=sys.stderr)
    counts, off = own_walls.failures(judged, asked)
    for name in counts:
        print(f"{buildup}: fails the check of {name}", file=sys.stderr)
    for name in off:
        print(f"{buildup}: would fail the check of {name}, which the brief leaves off", file=sys.stderr)
    if refused or counts:
        raise typer.Exit(NO)


@app.command()
def serve(
    study: Annotated[Path, typer.Argument(metavar="DIR", help="A study folder.")],
    port: Port = 8050,
    host: Host = LOCAL,
    token: Token = None,
    no_browser: NoBrowser = False,
) -> None:
    """Open the explorer on a study folder."""
    from dashboard.access import token_for

    _serve(study, port, host, token_for(host, token), no_browser)


def _serve(study: Path, port: int, host: str, token: str | None, no_browser: bool) -> None:
    from dashboard.app import addresses
    from dashboard.app import serve as run

    from ..search.numeric_worker import NumericProof
    from ..search.study import open_study

    open_study(study).check_whole()
    proof = NumericProof(study)
    here, *elsewhere = addresses(host, port, token)

    def ready() -> None:
        if proof.wanted():
            proof.start()  # the explorer is open before it is done
        print(f"explorer at {here} (Ctrl+C ends it)", flush=True)
        for address in elsewhere:
            print(f"from other machines: {address}", flush=True)
        if host != LOCAL and token:
            print("whoever has the whole address can open it; use it on a network you trust only", flush=True)
        if not no_browser:
            import webbrowser

            webbrowser.open(here)

    run(study, port, host, on_ready=ready, token=token)


@app.command()
def prove(
    study: Annotated[Path, typer.Argument(metavar="STUDY|BUILDUP.toml", help="A study folder, or one wall.")],
    brief: Annotated[Path | None, typer.Option(help="Brief that one wall is held to.")] = None,
    tolerance: Annotated[
        float | None, typer.Option(help="Largest error of U, as a share; the brief's.", min=0.0002, max=0.05)
    ] = None,
    workers: Annotated[int | None, typer.Option(help="Processes that share the walls.", min=1, max=64)] = None,
    as_json: AsJson = False,
) -> None:
    """Solve the conduction through every wall of a front and add the U-values by conduction to the study.

    One wall, from its build-up file, is solved and held to the target of a brief.
    """
    if study.is_file():
        code = own_walls.prove_own(study, brief, tolerance, as_json)
        if code != YES:
            raise typer.Exit(code)
        return
    if brief is not None:
        raise InputError(f"{study}: a study has its own brief; --brief goes with a build-up file")
    from ..search.study import open_study
    from . import printing_numeric

    summary = prove_and_tell(study, as_json, tolerance, workers)
    if as_json:
        print(json.dumps(summary, ensure_ascii=False))
    else:
        printing_numeric.proof(summary, open_study(study).rows)
    if summary["flagged"] or summary["unsolved"]:
        raise typer.Exit(NO)


@app.command()
def verify(
    study: Annotated[Path, typer.Argument(metavar="STUDY", help="A study folder.")],
    draws: Annotated[int, typer.Option(help="Walls drawn at random, and as many near the front.", min=0)] = 1_000_000,
    seed: Annotated[int, typer.Option(help="Seed of the draws.", min=0)] = 1,
    as_json: AsJson = False,
) -> None:
    """A second opinion on a study: its rows rebuilt and judged, and walls that its front may miss looked for.

    Up to a million walls are gone through one by one; of more, walls are drawn. No code shared with the search but the
    figures and checks of a wall.
    """
    from dataclasses import asdict

    from ..search.second_opinion import verify as run

    with printing.verify_progress(quiet=as_json) as watch, naming(study):
        verdict = run(study, draws, seed, watch)
    if as_json:
        refused = [asdict(each) for each in verdict.refused]
        tried = {"tried": verdict.tried, "total": verdict.total, "whole_space": verdict.whole}
        print(json.dumps({"rows": verdict.rows, "refused": refused} | tried | {"missed": verdict.missed}))
    else:
        printing.verdict(verdict, study)
    if not verdict.agrees:
        raise typer.Exit(NO)


@app.command()
def handover(
    study: Annotated[Path, typer.Argument(metavar="STUDY|BUILDUP.toml", help="A study folder, or one wall.")],
    out: Annotated[Path, typer.Option(metavar="DIR", help="Folder to write into; other files there are left alone.")],
    pick: Annotated[str | None, typer.Option(metavar="ID", help="The wall of the front that was chosen.")] = None,
    brief: Annotated[Path | None, typer.Option(help="Brief of a wall of one's own: house, target, lists.")] = None,
    only: Annotated[list[str] | None, typer.Option(metavar="NAME", help="One document alone; repeatable.")] = None,
) -> None:
    """Write the documents of a chosen wall: drawings, calculation, order, filling sheet, wall type."""
    from ..handover.documents import documents, write_into
    from ..search.study import open_study

    if study.is_file():
        if pick is not None:
            raise InputError(f"{study}: is no study but a file, of one wall; --pick goes with a study folder")
        source = own_walls.own_wall(study, brief, out)
        pick = source.wall_id
    elif brief is not None:
        raise InputError(f"{study}: a study has its own brief; --brief goes with a build-up file")
    elif pick is None:
        raise InputError(f"{study}: expected --pick ID, the wall of the front that was chosen")
    else:
        source = open_study(study)
    missing, notes = False, {}
    for made in documents(source, pick, tuple(only or ())):
        for place in write_into(out, made.files):
            print(place)
        notes |= {made.note: None} if made.note else {}  # several documents may have one to tell
        if made.trouble:
            missing = True
            print(f"{made.document}: {made.trouble}", file=sys.stderr)
    for note in notes:
        print(note)
    print(f"{out}: not for construction until checked by a licensed person; local codes govern")
    if missing:
        raise typer.Exit(NO)


@app.command()
def asfilled(
    sheet: Annotated[Path, typer.Argument(metavar="SHEET", help="The filling sheet as filled in, XLSX or CSV.")],
    buildup: Annotated[Path, typer.Argument(metavar="BUILDUP.toml", help="The build-up that it was made from.")],
    as_json: AsJson = False,
) -> None:
    """Read a filled-in filling sheet: the density reached chamber by chamber, and the U-value as built."""
    from materials.catalogue import load_catalogue

    from ..handover.filling.as_filled import as_filled, as_filled_words
    from ..wall.buildup import read_buildup

    filled = as_filled(sheet, read_buildup(buildup, load_catalogue()))
    print(json.dumps(filled.as_json(), ensure_ascii=False) if as_json else "\n".join(as_filled_words(filled)))
    if not filled.passes:
        raise typer.Exit(NO)


@app.command()
def prices(
    file: Annotated[
        Path | None, typer.Argument(metavar="FILE", help="A supplier list, CSV or XLSX; a declaration, XML, JSON, ZIP.")
    ] = None,
    template: Annotated[Path | None, typer.Option(metavar="OUT", help="Write an empty list instead.")] = None,
    export: Annotated[Path | None, typer.Option(metavar="OUT", help="Write the list in our own columns.")] = None,
    brief: Annotated[Path | None, typer.Option(help="Brief whose own materials the list may name.")] = None,
    as_json: AsJson = False,
) -> None:
    """Read a supplier list and say what is wrong where; a .toml of the same name beside it explains its columns.

    Of an environmental declaration (ILCD+EPD) it says what it states: modules, per what, carbon per kg, until when.
    """
    from materials.declared.declaration_files import SUFFIXES as DECLARATIONS
    from materials.listed.export import write_list, write_template
    from materials.listed.prices import read_prices

    from .price_printing import price_list

    if (file is None) == (template is None):
        raise InputError("prices: give one FILE to read, or --template OUT to write an empty list")
    if export is not None and file is None:
        raise InputError("prices: --export goes with a FILE to read")
    for out in (template, export):
        if out is not None and out.exists():
            raise InputError(f"{out}: exists; name a new file")
    if template is not None:
        write_template(template)
        print(json.dumps({"written": str(template)}) if as_json else f"empty list written to {template}")
        return
    if file.suffix.lower() in DECLARATIONS:
        _declaration(file, export, as_json)
        return
    listing = read_prices(file, catalogue_with(brief))
    if export is not None and not listing.faults:  # nothing half-loaded is written
        write_list(export, listing.products)
    price_list(listing, as_json, export)
    if listing.faults:
        raise typer.Exit(NO)


def _declaration(file: Path, export: Path | None, as_json: bool) -> None:
    from materials.declared.declared_file import read_declared

    from .declaration_printing import declared_file

    if export is not None:
        raise InputError("prices: --export writes supplier lists; a declaration stays as it is")
    read = read_declared(file)
    declared_file(read, as_json)
    if read.faults:
        raise typer.Exit(NO)


@app.command()
def catalogue(
    word: Annotated[str | None, typer.Argument(metavar="WORD", help="A key, name, kind or use, or part of it.")] = None,
    brief: Annotated[Path | None, typer.Option(help="Brief whose lists' products are listed too.")] = None,
    as_json: AsJson = False,
) -> None:
    """List materials and, with a brief, the products of its lists: the keys that briefs and build-ups name."""
    from .catalogue_words import report

    if not report(word, brief, as_json):
        raise typer.Exit(NO)


@app.command()
def suppliers(
    study: Annotated[Path, typer.Argument(metavar="STUDY", help="A study folder.")],
    wall: Annotated[str | None, typer.Option(help="Wall whose products are swapped for others that fit.")] = None,
    break_even: Annotated[bool, typer.Option(help="Values at which products would enter the front.")] = True,
    lever: Annotated[
        list[str] | None,
        typer.Option(help="What moves to break even: price (usual), carbon, conductivity; repeatable."),
    ] = None,
    workers: Annotated[int | None, typer.Option(help="Processes that share the searches.", min=1, max=64)] = None,
    out: Annotated[Path | None, typer.Option(metavar="FILE.csv", help="Write the walls of all fronts.")] = None,
    as_json: AsJson = False,
) -> None:
    """Compare what suppliers offer: fronts without each or with one alone, swaps in a wall, break-even prices."""
    from .suppliers import report

    report(study, wall, (lever or ("price",)) if break_even else (), workers, out, as_json)


def main() -> None:
    """Run the command; input that cannot be used gives one message and exit code 2."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a terminal without "×" gets "?", not a traceback
    try:
        app(prog_name="wallfront")
    except InputError as error:
        print(f"wallfront: {error}", file=sys.stderr)
        sys.exit(UNUSABLE)
    except BrokenPipeError:  # whoever read the answer has enough
        sys.stderr.close()
        sys.exit(NO)
    except OSError as error:  # a disk that is full, a folder that went away
        print(f"wallfront: {error.filename or 'a file'}: {error.strerror or error}", file=sys.stderr)
        sys.exit(UNUSABLE)
    except KeyboardInterrupt:
        print("wallfront: stopped", file=sys.stderr)
        sys.exit(130)
