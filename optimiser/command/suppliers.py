"""`wallfront suppliers`: looks up what was compared before, compares the rest, and hands it to the printer."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from materials.errors import InputError

from ..market.break_even_study import break_evens, keep_break_evens, part_of, plain, stored_break_evens
from ..market.levers import checked_lever
from ..market.suppliers import SupplierFronts, keep_fronts, stored_fronts, supplier_fronts
from ..market.swaps import swaps
from ..search.files import check_writable, write_text
from ..search.study import Study, open_study, to_csv
from . import supplier_printing as printing


def report(
    folder: Path, wall: str | None, levers: Sequence[str], workers: int | None, out: Path | None, as_json: bool
) -> None:
    """Compare the suppliers of a study and print it; InputError for a study, wall or file that cannot be used.

    wall: whose products are swapped; its target is then the one compared. levers: of `levers.LEVERS`, whose break-even
    values are told. out: CSV of the walls of all fronts.
    """
    study = open_study(folder)
    row = study.row(wall) if wall is not None else None
    if out is not None and out.exists():
        raise InputError(f"{out}: exists; name a new file")
    if out is not None:
        check_writable(out.absolute().parent)
    workers = workers or study.brief.search.workers
    target = study.brief.target.u_value if row is None else row["target"]
    currency = study.brief.prices.currency
    levers = list(dict.fromkeys(map(checked_lever, levers)))
    comparison = _fronts(study, target, workers, quiet=as_json)
    output: dict[str, Any] = {"currency": currency, "fronts": comparison.as_json()}
    if not as_json:
        printing.fronts(comparison, currency)
    if row is not None:
        changes = swaps(study, row["id"])
        output |= {"wall": row["id"], "swaps": [each.as_json() for each in changes]}
        if not as_json:
            asked = {*study.brief.objectives.minimise, *study.brief.limits.upper()}
            printing.swaps(changes, row["id"], row["in_short"], currency, asked)
    for lever in levers:
        output[part_of(lever)] = values = _break_evens(study, target, lever, workers, quiet=as_json)
        if values is not None and not as_json:
            printing.break_evens(values, lever)
    if as_json:
        print(json.dumps(output, ensure_ascii=False))
    if out is not None:
        try:
            write_text(out, to_csv(printing.laid_over(comparison, study.rows)))
        except OSError as error:
            raise InputError(f"{out}: cannot be written ({error.strerror or error})") from None
        if not as_json:
            print(f"walls of all fronts written to {out}")


def _fronts(study: Study, target: float, workers: int, quiet: bool) -> SupplierFronts:
    """The comparison kept with the study, or a new one, kept for the next time."""
    comparison = stored_fronts(study, target)
    if comparison is None:
        with printing.progress("comparing", quiet) as watch:
            comparison = supplier_fronts(study, watch, workers=workers, target=target)
        _keeping(lambda: keep_fronts(study, comparison))
    return comparison


def _break_evens(study: Study, target: float, lever: str, workers: int, quiet: bool) -> list[dict[str, Any]] | None:
    """Break-even values kept with the study, or new ones; None, and why, where its front is not the complete one."""
    stored = stored_break_evens(study, target, lever)
    if stored is not None:
        return stored
    try:
        with printing.progress(f"break-even: {lever}", quiet) as watch:
            say = watch and (lambda done, total, latest: watch(done, total, latest.name))
            values = break_evens(study, (lever,), watch=say, workers=workers, target=target)
    except InputError as error:
        print(f"no break-even values ({lever}): {error}", file=sys.stderr)
        return None
    _keeping(lambda: keep_break_evens(study, target, lever, values))
    return plain(values)


def _keeping(write: Callable[[], None]) -> None:
    """Keep a result; a study that cannot be written is compared all the same."""
    try:
        write()
    except InputError as error:
        print(f"not kept: {error}", file=sys.stderr)
