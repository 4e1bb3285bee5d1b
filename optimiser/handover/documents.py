"""All documents of a chosen wall, from its one build-up: for the certifier, the carpenter, the installer, the supplier.

Each document is made in memory; what is whole is written beside its place and renamed. A document whose library is not
installed is told with the extra that brings it, and the others are written all the same.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from materials.errors import InputError

from ..checks.check_table import Demands
from ..checks.judge import Judged, judge
from ..conduction.breaks import TOLERANCE
from ..conduction.wall_cell import NumericHeat, numeric_heat
from ..locales import writing
from ..search.study import Study
from ..wall.buildup import BuildUp, to_toml
from .drawing.title import Title
from .filling.sheet import FillingSheet, digest_of
from .ordering.as_taken_off import AsTakenOff, as_taken_off
from .ordering.order import Order, order_of
from .ordering.take_off import TakeOff
from .own_wall import OwnWall
from .tables.tabular import MARK_LABEL, MARK_WORDS


class Chosen:
    """A wall of a study, or one's own, with what several documents read, each worked out once."""

    def __init__(self, study: Study | OwnWall, wall_id: str) -> None:
        self.study, self.wall_id = study, wall_id
        self.brief, self.pricing = study.brief, study.pricing
        self.row = study.row(wall_id)
        self.wall: BuildUp = study.buildup(wall_id)

    @cached_property
    def judged(self) -> Judged:
        brief = self.brief
        return judge(self.wall, self.pricing, Demands.of(brief), brief.operation)

    @cached_property
    def numeric(self) -> NumericHeat | None:
        """The wall by conduction; None where it has no repeating cell, which the sheet then says."""
        try:
            return numeric_heat(self.wall, tolerance=TOLERANCE)  # that of `check --numeric`: one figure in both
        except InputError:
            return None

    @cached_property
    def taken(self) -> TakeOff:
        from .ordering.take_off import take_off

        return take_off(self.wall, self.brief, self.pricing, wall_id=self.wall_id)

    @cached_property
    def as_taken(self) -> AsTakenOff | str:
        """The wall with what the order counts in it; where that cannot be counted, why."""
        try:
            return as_taken_off(self.wall, self.brief, self.taken, self.row["target"])
        except InputError as error:
            return str(error)

    @cached_property
    def order(self) -> Order:
        return order_of(self.taken, self.brief.transport)

    @cached_property
    def filling(self) -> FillingSheet:
        """With the bags that the order brings."""
        from .ordering.ordered_fill import with_order

        return with_order(self.taken.filling, self.order)

    @property
    def title(self) -> Title:
        mark = digest_of(self.wall)
        return Title(wall=self.wall_id, name=self.brief.name, u_value=self.judged.u_value, mark=mark)


def _drawings(chosen: Chosen) -> Mapping[str, bytes]:
    from .drawing.sheet import drawing_svg

    return {
        f"{view}-section.svg": drawing_svg(chosen.wall, chosen.brief, view, title=chosen.title, prefix=view).encode()
        for view in ("plan", "vertical")
    }


def _dxf(chosen: Chosen) -> Mapping[str, bytes]:
    from .drawing.dxf import drawing_dxf

    return {"sections.dxf": drawing_dxf(chosen.wall, chosen.brief, title=chosen.title)}


def _sheet(chosen: Chosen):
    from .calculation.sheet import calculation

    digests = chosen.study.summary.get("price_lists") or {}
    return calculation(
        chosen.judged,
        chosen.brief,
        pricing=chosen.pricing,
        numeric=chosen.numeric,
        wall_id=chosen.wall_id,
        target=chosen.row["target"],
        digests=digests,
        taken=chosen.as_taken,
    )


def _calculation_page(chosen: Chosen) -> Mapping[str, bytes]:
    from .calculation.page import calculation_html

    return {"calculation.html": calculation_html(_sheet(chosen)).encode()}


def _calculation_print(chosen: Chosen) -> Mapping[str, bytes]:
    from .calculation.print import calculation_pdf

    return {"calculation.pdf": calculation_pdf(_sheet(chosen))}


def _order(chosen: Chosen) -> Mapping[str, bytes]:
    from .ordering.order_files import order_files

    as_taken = chosen.as_taken
    return order_files(chosen.order, as_taken if isinstance(as_taken, AsTakenOff) else None)


def _filling(chosen: Chosen) -> Mapping[str, bytes]:
    from .filling.files import filling_files

    return filling_files(chosen.filling)


def _filling_print(chosen: Chosen) -> Mapping[str, bytes]:
    from .calculation.print import filling_pdf

    return {"filling-sheet.pdf": filling_pdf(chosen.filling)} if chosen.filling.chambers else {}


def _bim(chosen: Chosen) -> Mapping[str, bytes]:
    from .bim.wall_type import wall_type_ifc

    return {"wall-type.ifc": wall_type_ifc(chosen.judged, chosen.brief, chosen.wall_id)}


def _build_up(chosen: Chosen) -> Mapping[str, bytes]:
    mark = f"# {MARK_LABEL}: {digest_of(chosen.wall)} {MARK_WORDS}\n"
    return {f"{chosen.wall_id}.toml": (mark + to_toml(chosen.wall, chosen.study.catalogue)).encode()}


DOCUMENTS: Mapping[str, Callable[[Chosen], Mapping[str, bytes]]] = {
    "drawing": _drawings,
    "cad": _dxf,
    "calculation": _calculation_page,
    "calculation-pdf": _calculation_print,
    "order": _order,
    "filling": _filling,
    "filling-pdf": _filling_print,
    "bim": _bim,
    "build-up": _build_up,
}


TELL = ("calculation", "calculation-pdf", "order")  # the documents that a wall as taken off speaks for


@dataclass(frozen=True)
class Made:
    """One document: its files by name, or why it could not be made. note: what its reader must not miss."""

    document: str
    files: Mapping[str, bytes]
    trouble: str = ""
    note: str = ""


def documents(study: Study | OwnWall, wall_id: str, only: tuple[str, ...] = ()) -> Iterator[Made]:
    """The documents of a wall of a study's front, or of one's own, one by one.

    InputError for a wall or a document that there is not.
    """
    for name in only:
        if name not in DOCUMENTS:
            raise InputError(f'document "{name}" is none; choose among {", ".join(DOCUMENTS)}')
    chosen = Chosen(study, wall_id)
    for name, make in DOCUMENTS.items():
        if not only or name in only:
            yield _made(name, make, chosen)


def _made(name: str, make: Callable[[Chosen], Mapping[str, bytes]], chosen: Chosen) -> Made:
    try:
        with writing(chosen.brief.locale):
            files = make(chosen)
    except InputError as error:
        return Made(name, {}, str(error))
    return Made(name, files, note=_note(chosen) if name in TELL else "")


def _note(chosen: Chosen) -> str:
    """One line, numbers with points, where the wall as taken off misses its target."""
    from .ordering.taken_off_report import missed_line

    return missed_line(chosen.as_taken) if isinstance(chosen.as_taken, AsTakenOff) else ""


def write_into(folder: Path, files: Mapping[str, bytes]) -> list[Path]:
    """Write files into a folder, each beside its place and renamed; other files there are left alone."""
    if folder.is_file():
        raise InputError(f"{folder}: is a file; expected a folder")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return [_written(folder / name, content) for name, content in files.items()]
    except OSError as error:
        raise InputError(f"{folder}: cannot be written to ({error.strerror or error})") from None


def _written(place: Path, content: bytes) -> Path:
    handle, name = tempfile.mkstemp(dir=place.parent, prefix=f".{place.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        os.chmod(name, 0o644)
        os.replace(name, place)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    return place
