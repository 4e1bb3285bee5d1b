"""The study folder: what a search leaves behind, written whole or not at all, and read back by the explorer."""

from __future__ import annotations

import csv
import hashlib
import io
import math
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np

from materials.catalogue import Catalogue
from materials.errors import InputError, nearest
from materials.listed.prices import mapping_beside
from materials.untrusted import check_inside, read_within

from ..brief.as_judged import as_judged
from ..brief.brief import Brief, brief_to_toml, read_brief
from ..brief.own_materials import catalogue_of
from ..brief.price_lists import pricing_of
from ..house.house import HouseTotals, house_totals
from ..space.evaluate import evaluate
from ..space.walls import buildup, described, in_short
from ..wall.buildup import BuildUp, read_buildup, to_toml
from ..wall.pricing import Pricing
from ..wall.scores import WHOLE_LIFE
from . import files, records
from .archive import Archive
from .rates import FrontStep, steps

VERSION = 1
CLOUD_SIZE = 4000
MOST_LIST = 20_000_000  # bytes of a list or declaration that is copied
DEMO_PREFIX = "demo:"
FIGURES = (
    "thickness_mm",
    "cost_per_m2",
    "carbon_kgco2e_m2",
    "u_value",
    "weight_kg_m2",
    "biogenic_kgco2e_m2",
    WHOLE_LIFE,  # empty where the brief has no [operation]
    "floor_area_lost_m2",
    "stability",
)
COLUMNS_PROVEN = ("u_numeric", "u_numeric_error", "chance")  # empty until the front is proven (numeric_front.py)
NUMBERS = frozenset({"target", "equal_count", *FIGURES, *COLUMNS_PROVEN})
OF_THE_HOUSE = (  # what is told for the whole house besides per m2 of wall
    "thickness_mm",
    "u_value",
    "cost_per_m2",
    "carbon_kgco2e_m2",
    "biogenic_kgco2e_m2",
    "weight_kg_m2",
    WHOLE_LIFE,
)
CLOUD = ("target", "thickness_mm", "cost_per_m2", "carbon_kgco2e_m2", "u_value", "weight_kg_m2", WHOLE_LIFE)


def front_of(archive: Archive, prefix: str = "W") -> list[tuple[dict[str, Any], np.ndarray]]:
    """The front of an archive, thinnest first: rows of `front.csv` with the choices each stands for."""
    choices, x = archive.choices, archive.best_x
    if not len(x):
        return []
    scores = evaluate(choices, x)
    order = np.lexsort((scores.carbon_kgco2e_m2, scores.cost_per_m2, scores.thickness_mm))
    counts = archive.equal_counts()
    rows = []
    for number, at in enumerate(order, 1):
        row: dict[str, Any] = {"id": f"{prefix}-{number:03d}", "target": archive.target}
        row |= {key: float(getattr(scores, key)[at]) for key in FIGURES if hasattr(scores, key)}
        row[WHOLE_LIFE] = row[WHOLE_LIFE] if choices.brief.operation else None
        row["floor_area_lost_m2"] = area_lost(choices.brief, row["thickness_mm"])
        row["stability"] = None if archive.stability is None else float(archive.stability[at])
        row |= dict.fromkeys(COLUMNS_PROVEN)
        row |= {"equal_count": int(counts[at]), "in_short": in_short(choices, x[at])}
        rows.append((row | described(choices, x[at]), x[at]))
    return rows


def area_lost(brief: Brief, thickness_mm: float) -> float | None:
    """Floor area that walls of this thickness take from the brief's house, against its reference wall [m2].

    None without a house, and where walls so thick would meet each other.
    """
    if brief.house is None:
        return None
    lost = float(brief.house.floor_area_lost(thickness_mm / 1000))
    return None if math.isnan(lost) else lost


def cloud_of(archive: Archive) -> dict[str, list[float | None]]:
    """A sample of the buildable walls that were evaluated and hold target and limits, by figure, with the target."""
    _, scores, missed = archive.all()
    holds = np.flatnonzero((missed <= 0).all(axis=1))
    if len(holds) > CLOUD_SIZE:
        holds = np.sort(np.random.default_rng(0).choice(holds, CLOUD_SIZE, replace=False))
    figures = {key: getattr(scores, key)[holds].tolist() for key in CLOUD[1:]}
    if archive.choices.brief.operation is None:
        figures[WHOLE_LIFE] = [None] * len(holds)
    return {"target": [archive.target] * len(holds)} | figures


def write_study(
    folder: Path,
    archives: list[Archive],
    source: Path,
    summary: dict[str, Any],
    ruled_out: list[dict[str, Any]] | None = None,
) -> None:
    """Write the study of one or several targets.

    source: the folder that the brief's price lists stand in; ruled_out: walls that the checks keep off the front.
    """
    prefixes = ["W"] if len(archives) == 1 else [_prefix(each.target) for each in archives]
    files.replace_folder(folder, lambda fresh: _fill(fresh, archives, prefixes, source, summary, ruled_out or []))


def _prefix(target: float) -> str:
    """What the ids of a target's walls begin with when there are several targets: W105 for 0.105, one for each."""
    short = f"{target:.3f}"
    return "W" + (short if float(short) == target else repr(target)).removeprefix("0.")


def _fill(
    fresh: Path,
    archives: list[Archive],
    prefixes: list[str],
    source: Path,
    summary: dict[str, Any],
    ruled_out: list[dict[str, Any]],
) -> None:
    choices = archives[0].choices
    (fresh / "brief.toml").write_text(brief_to_toml(with_lists(choices.brief, source, fresh)), encoding="utf-8")
    walls = fresh / "buildups"
    walls.mkdir()
    rows, equals = [], []
    for archive, prefix in zip(archives, prefixes, strict=True):
        for row, x in front_of(archive, prefix):
            wall = buildup(choices, x, row["id"])
            (walls / f"{row['id']}.toml").write_text(to_toml(wall, choices.catalogue), encoding="utf-8")
            rows.append(row)
            if row["equal_count"] > 1:
                equals += [{"id": row["id"]} | described(choices, other) for other in archive.equals(x)[1:]]
    (fresh / "front.csv").write_text(to_csv(rows), encoding="utf-8")
    if ruled_out:
        (fresh / "ruled_out.csv").write_text(to_csv(ruled_out), encoding="utf-8")
    if equals:
        (fresh / "equals.csv").write_text(to_csv(equals), encoding="utf-8")
    clouds = [cloud_of(archive) for archive in archives]
    cloud = {key: [value for each in clouds for value in each[key]] for key in CLOUD}
    (fresh / "cloud.csv").write_text(_columns_csv(cloud), encoding="utf-8")
    files.write_json(fresh / files.MARK, summary)


def to_csv(rows: list[dict[str, Any]]) -> str:
    """Rows of one shape as CSV, numbers unrounded."""
    text = io.StringIO()
    writer = csv.DictWriter(text, fieldnames=list(rows[0]) if rows else ["id"], lineterminator="\n")
    writer.writeheader()
    writer.writerows({key: "" if value is None else value for key, value in row.items()} for row in rows)
    return text.getvalue()


def _columns_csv(columns: dict[str, list[float | None]]) -> str:
    return to_csv([dict(zip(columns, values, strict=True)) for values in zip(*columns.values(), strict=True)])


def with_lists(brief: Brief, source: Path, folder: Path) -> Brief:
    """The brief with its price lists copied into `folder`/prices: the folder can be moved and searched again."""
    names = []
    for name in brief.prices.lists:
        if name.startswith(DEMO_PREFIX):
            names.append(name)
            continue
        (folder / "prices").mkdir(exist_ok=True)
        place = folder / "prices" / f"{len(names) + 1}-{Path(name).name}"
        _copy(source / name, place)
        if mapping_beside(source / name).is_file():
            _copy(mapping_beside(source / name), mapping_beside(place))
        names.append(f"prices/{place.name}")
    declared = tuple(_copied(name, source, folder) for name in brief.prices.declarations)
    change = {"lists": tuple(names)} | ({"declarations": declared} if declared else {})
    return brief.model_copy(update={"prices": brief.prices.model_copy(update=change)})


def _copied(name: str, source: Path, folder: Path) -> str:
    """A declaration copied into `folder`/declarations under its own name, by which products find it."""
    if name.startswith(DEMO_PREFIX):
        return name
    number = 1
    while (place := folder / "declarations" / str(number) / Path(name).name).exists():
        number += 1
    place.parent.mkdir(parents=True, exist_ok=True)
    _copy(source / name, place)
    return place.relative_to(folder).as_posix()


def _copy(source: Path, place: Path) -> None:
    """A list or declaration copied; InputError where it is none, or cannot be."""
    data = read_within(source, MOST_LIST, "a price list or a declaration")
    try:
        place.write_bytes(data)
    except OSError as error:
        raise InputError(f"{source}: cannot be copied ({error.strerror or error})") from None


@dataclass(frozen=True)
class Study:
    """A study folder, read."""

    folder: Path
    brief: Brief
    rows: list[dict[str, Any]]
    summary: dict[str, Any]

    @cached_property
    def cloud(self) -> dict[str, list[float | None]]:
        """Walls that hold target and limits but are beaten: a sample, by figure."""
        return records.cloud_columns(self.folder / "cloud.csv", CLOUD, self.folder, (WHOLE_LIFE,))

    @cached_property
    def catalogue(self) -> Catalogue:
        return catalogue_of(self.brief)

    @cached_property
    def pricing(self) -> Pricing:
        return pricing_of(self.brief, self.folder, self.catalogue)[0]

    def row(self, wall: str) -> dict[str, Any]:
        """The front's row of that id; InputError when there is none."""
        for row in self.rows:
            if row["id"] == wall:
                return row
        raise InputError(
            f'{self.folder}: no wall "{wall}" on the front{nearest(wall, [row["id"] for row in self.rows])}'
        )

    def totals(self, wall: str) -> HouseTotals | None:
        """What a wall of the front comes to for the brief's house; None without a house."""
        row = self.row(wall)
        if self.brief.house is None:
            return None
        return house_totals(self.brief.house, **{key: row.get(key) for key in OF_THE_HOUSE})

    def steps(self, wall: str) -> list[FrontStep]:
        """What a step along the front of the wall's own target costs."""
        target = self.row(wall)["target"]
        rows = [row for row in self.rows if row["target"] == target]
        return steps(rows, wall, self.brief.objectives.minimise)

    @cached_property
    def ruled_out(self) -> list[dict[str, str]]:
        """Walls that would be on the front without the checks: figures, the check that rules each out, and why."""
        return records.ruled_out_rows(self.folder / "ruled_out.csv", self.folder)

    def equals(self, wall: str) -> list[dict[str, str]]:
        """Other walls with exactly the scores of this one: what each slot holds."""
        self.row(wall)
        return [row for row in self._equals if row["id"] == wall]

    @cached_property
    def _equals(self) -> list[dict[str, str]]:
        return records.equal_rows(self.folder / "equals.csv", self.folder)

    def check_whole(self) -> None:
        """InputError where a table or a price list of the study cannot be read, rather than when it is first shown."""
        _ = self.pricing, self.cloud, self.ruled_out, self._equals

    def buildup(self, wall: str) -> BuildUp:
        """The build-up of a wall of the front, as the brief judges it."""
        self.row(wall)
        path = self.folder / "buildups" / f"{wall}.toml"
        check_inside(path, self.folder)
        return as_judged(read_buildup(path, self.catalogue), self.brief, self.pricing, self.catalogue)


def open_study(folder: Path) -> Study:
    """Read a study folder; InputError when it is none, or of another version.

    One that a killed save left beside its place is put back first.
    """
    folder = Path(folder)
    if not folder.exists():
        files.recover(folder)
    summary = files.read_json(folder / files.MARK) if folder.is_dir() else None
    if not isinstance(summary, dict):
        what = "" if folder.is_dir() else " but a file" if folder.exists() else ", there is nothing there"
        raise InputError(f"{folder}: is no study{what} (expected a folder with {files.MARK}, front.csv and buildups/)")
    if summary.get("version") != VERSION:
        raise InputError(f"{folder}: study version {summary.get('version')!r}; this program reads version {VERSION}")
    later = ("stability", WHOLE_LIFE, *COLUMNS_PROVEN)  # earlier studies have none
    records.checked(summary, records.StudyRecord, folder / files.MARK)
    rows = [row | {key: None for key in later if key not in row} for row in _read_front(folder / "front.csv")]
    return Study(folder, read_brief(folder / "brief.toml", enclosed=True), rows, summary)


def _read_front(path: Path) -> list[dict[str, Any]]:
    return records.front_rows(path, NUMBERS, path.parent)


def identity(folder: Path) -> str:
    """What tells one study from another, whatever has been proven of its front since: brief and front."""
    rows = _read_front(folder / "front.csv")
    unproven = [{key: value for key, value in row.items() if key not in COLUMNS_PROVEN} for row in rows]
    text = (folder / "brief.toml").read_bytes() + to_csv(unproven).encode()
    return hashlib.sha256(text).hexdigest()
