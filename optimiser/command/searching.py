"""Searching a brief by the command: save, prove, say; Ctrl+C keeps what was found. Heavy imports stay in functions."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from materials.errors import InputError

from ..stopping import NO_STOP
from . import interrupting, printing, search_printing

if TYPE_CHECKING:
    from materials.catalogue import Catalogue

    from ..search.run import Outcome

YES, NO, UNUSABLE = 0, 1, 2


@contextmanager
def naming(path: Path | None) -> Iterator[None]:
    """Put the file's name before messages about what stands in it."""
    try:
        yield
    except InputError as error:
        raise InputError(str(error) if str(path) in str(error) else f"{path}: {error}") from None


def catalogue_with(brief: Path | None) -> Catalogue:
    """The shipped catalogue, with the own materials of a brief where one is given."""
    from materials.catalogue import load_catalogue

    if brief is None:
        return load_catalogue()
    from ..brief.brief import read_brief
    from ..brief.own_materials import catalogue_of

    with naming(brief):
        return catalogue_of(read_brief(brief))


def search_and_save(path: Path, out: Path, as_json: bool, prove: bool = False) -> int:
    """Search and save, what Ctrl+C leaves too; says why when no wall was found. Returns the exit code.

    prove: solve the front then, where the brief asks for it.
    """
    interrupt = interrupting.Interrupt()
    with interrupt.listening():
        from ..brief.brief import read_brief
        from ..search import files
        from ..search.resuming import Resuming
        from ..search.run import save
        from ..search.run import search as run

        brief, resuming = read_brief(path), Resuming(out)
        files.check_replaceable(out)
        with printing.search_progress(brief, quiet=as_json) as watch, naming(path):
            outcome = run(brief, path.parent, watch, interrupt.wanted, resuming.from_before, resuming.keep)
        interrupted = outcome.summary["stopped"] == "cancelled"
        if interrupted and not outcome.has_front:
            print(interrupting.NOTHING, file=sys.stderr)
            return interrupting.CODE
        if interrupted:
            outcome.summary["stopped"] = "interrupted"
            resuming.write()
        if outcome.has_front:
            save(outcome, path.parent, out)
        if not interrupted:
            resuming.clear()
            if outcome.has_front and prove and brief.numeric.proves:
                outcome.summary |= _proven_after(out, as_json, interrupt)
        _say(outcome, out, as_json, resuming.resumed)
        if interrupted:
            print(f"stopped: wallfront search {path} --out {out} goes on from there", file=sys.stderr)
    if interrupt.pressed:
        return interrupting.CODE
    return YES if outcome.has_front else NO


def _proven_after(out: Path, as_json: bool, interrupt: interrupting.Interrupt) -> dict[str, Any]:
    """Solve the front of a study just written; nothing, and a word, where Ctrl+C comes."""
    numeric = prove_and_tell(out, as_json, stop=interrupt.wanted)
    if numeric is None:
        print(f"stopped: the study is whole, its conduction not solved; wallfront prove {out} does", file=sys.stderr)
        return {}
    return {"numeric": numeric}


def _say(outcome: Outcome, out: Path, as_json: bool, resumed: bool) -> None:
    """How a search ended, for people or as JSON."""
    missed = [{"target": each.target, "reasons": each.reasons, "nearest": each.nearest} for each in outcome.shortfalls]
    if as_json:
        more = {"missed": missed, "landmarks": _landmarks(out) if outcome.has_front else []}
        print(json.dumps(outcome.summary | more, ensure_ascii=False))
    else:
        search_printing.search_end(outcome, out, resumed)
    for each in outcome.shortfalls:
        print(each.words(), file=sys.stderr)


def _landmarks(out: Path) -> list[dict[str, Any]]:
    from ..search.study import open_study
    from ..wall.scores import OBJECTIVES

    keys = ("id", "in_short", "u_value", *OBJECTIVES)
    return [
        {"target": each.target, "names": list(each.names)} | {key: each.row.get(key) for key in keys}
        for each in search_printing.landmarks_of(open_study(out))
    ]


def prove_and_tell(
    study: Path,
    quiet: bool,
    tolerance: float | None = None,
    workers: int | None = None,
    stop: Callable[[], bool] = NO_STOP,
) -> dict[str, Any] | None:
    """Prove a study's front with a progress bar; returns `numeric` of its study.json, None when stopped."""
    from ..search import files
    from ..search.numeric_front import prove_study
    from .printing_numeric import proof_progress

    if study.is_dir():
        files.check_writable(study)
    with proof_progress(quiet) as watch, naming(study):
        return prove_study(study, tolerance, workers, watch, stop)
