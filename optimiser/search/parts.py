"""The three parts that a wall splits into for the exact search, each reduced to the options worth combining.

    wall = core (frames, gap and what fills them) x service zone x skin (all the plain layers)

Thickness, cost, carbon and weight of the parts add up. Of the skin, heat sees one number, the sum of its resistances;
of the service zone its battens' share and two resistances. The core is the rest.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .. import rules
from ..batch import Array, WallBatch
from ..choices import AT, VARIABLES, ZONE, Choices, Index
from ..evaluate import STEPS, WHOLE_LIFE
from ..heat.steady import side_by_side
from ..score import area
from ..soundness.judgement import Reads
from .bounds import MARGIN, kept

SKIN = (
    "wind-tight layer",
    "outer board",
    "sheathing",
    "outer gap board",
    "inner gap board",
    "airtight layer",
    "cladding",
    "ventilated space",
    "lining",
)
CORE = ("outer frame", "gap", "inner frame")
QUANTITY = {
    "cost_per_m2": ("price", "labour"),
    "carbon_kgco2e_m2": ("carbon",),
    "weight_kg_m2": ("mass",),
    WHOLE_LIFE: ("carbon",),  # what is built in; the heat lost comes on top, by the whole wall's U (Figures.operating)
}
LEAST_SHARE = 0.3  # of a zone's area that is fill, at the very least: what a difference of fills is sure to count


@dataclass(frozen=True)
class Figures:
    """Which figures a search follows, in order: the objectives, then what is limited besides. All in steps."""

    objectives: tuple[str, ...]
    limited: tuple[str, ...]
    limits: Array  # (k,) in steps, infinite where there is none
    operational: float = 0.0  # kgCO2e/m2 by U in W/m2K, where a figure followed counts it

    @classmethod
    def of(cls, choices: Choices) -> Figures:
        objectives = choices.brief.objectives.minimise
        upper = choices.brief.limits.upper()
        limited = tuple(key for key in sorted(upper) if key not in objectives)
        keys = (*objectives, *limited)
        limits = np.array([upper.get(key, np.inf) * STEPS[key] for key in keys])
        return cls(objectives, limited, limits, choices.operational if WHOLE_LIFE in keys else 0.0)

    @property
    def keys(self) -> tuple[str, ...]:
        return (*self.objectives, *self.limited)

    @property
    def scale(self) -> Array:
        return np.array([STEPS[key] for key in self.keys], float)

    def operating(self, resistance: Array) -> Array | float:
        """(n, k) the least that the heat lost adds, in steps.

        resistance (n,): mean of the average by area, never below R', and of R'', surfaces included: then R_T is at
        most that, and corrections only add to U.
        """
        if not self.operational:
            return 0.0
        added = np.zeros((len(resistance), len(self.keys)))
        at = self.keys.index(WHOLE_LIFE)
        added[:, at] = (1 - 1e-12) * self.operational / resistance * STEPS[WHOLE_LIFE]
        return added


@dataclass(frozen=True)
class Part:
    """m ways to make one part: their choices (m, variables), figures in steps (m, k), and resistance (m,)."""

    x: Index
    figures: Array
    resistance: Array

    def __len__(self) -> int:
        return len(self.x)

    def rows(self, chosen) -> Part:
        return Part(self.x[chosen], self.figures[chosen], self.resistance[chosen])


def plain_options(choices: Choices, name: str, follow: Figures) -> Part:
    """The options of one plain slot as a part. Cladding and ventilated space carry no resistance."""
    column = choices.column[name]
    count = len(column["thickness"])
    share = column["width"] / column["spacing"] + column["extra"] if name == "ventilated space" else np.ones(count)
    values = []
    for key in follow.keys:
        if key == "thickness_mm":
            values.append(column["thickness"] * 1000)
        else:
            values.append(share * sum(column[quantity] for quantity in QUANTITY[key]))
    x = np.zeros((count, len(VARIABLES)), np.int32)
    x[:, AT[name]] = np.arange(count)
    outside = name in ("cladding", "ventilated space")
    resistance = np.zeros(count) if outside else column["resistance"]
    return Part(x, np.stack(values, axis=1) * follow.scale, resistance)


def joined(one: Part, other: Part) -> Part:
    """Every pair of two parts of different slots."""
    a = np.repeat(np.arange(len(one)), len(other))
    b = np.tile(np.arange(len(other)), len(one))
    return Part(one.x[a] + other.x[b], one.figures[a] + other.figures[b], one.resistance[a] + other.resistance[b])


def thinned(part: Part, follow: Figures, groups: NDArray | None = None, properties: Array | None = None) -> Part:
    """A part without superfluous rows; rows of different `groups` never displace each other."""
    better = part.resistance[:, None] if properties is None else np.column_stack([part.resistance, properties])
    alive = np.zeros(len(part), bool)
    for rows in grouped_rows(np.zeros(len(part), int) if groups is None else groups):
        alive[rows] = True if len(rows) == 1 else kept(part.figures[rows], better[rows], len(follow.objectives))
    return part.rows(alive)


def grouped_rows(groups: NDArray) -> list[NDArray]:
    """Row numbers of every group."""
    order = np.argsort(groups, kind="stable")
    return np.split(order, np.flatnonzero(np.diff(groups[order])) + 1) if len(groups) else []


@dataclass(frozen=True)
class SkinClass:
    """Skins that agree in what the core must know: boards on the gap's sides, and a board that closes the void."""

    first: bool
    second: bool
    closed: bool
    part: Part  # sorted by resistance
    raw: int  # how many there were before superfluous ones went


def skins(
    choices: Choices, follow: Figures, thin: bool = True, reads: dict[str, Reads] | None = None
) -> list[SkinClass]:
    """All buildable skins by class, superfluous ones dropped on the way. reads: what judgements read of each slot."""
    reads = {name: each for name, each in (reads or {}).items() if name in SKIN}

    def reduce(part: Part, groups: NDArray) -> Part:
        if not thin:
            return part
        codes = [each.code[part.x[:, AT[name]]] for name, each in reads.items()]
        groups = np.unique(np.stack([groups, *codes], axis=1), axis=0, return_inverse=True)[1].ravel()
        larger = [each.larger[part.x[:, AT[name]]] for name, each in reads.items()]
        return thinned(part, follow, groups, np.column_stack(larger) if larger else None)

    outer = joined(
        joined(plain_options(choices, "wind-tight layer", follow), plain_options(choices, "outer board", follow)),
        plain_options(choices, "sheathing", follow),
    )
    x = outer.x
    board, sheathing = choices.flag("outer board", "present", x), choices.flag("sheathing", "present", x)
    tight = np.where(board, choices.flag("outer board", "windtight", x), choices.flag("sheathing", "windtight", x))
    outer = outer.rows(choices.flag("wind-tight layer", "present", x) != tight & (board | sheathing))
    part = reduce(outer, _codes(choices, outer.x))
    part = joined(part, plain_options(choices, "outer gap board", follow))
    racked = choices.flag("sheathing", "racking", part.x) | choices.flag("outer gap board", "racking", part.x)
    part = part.rows(racked)
    part = reduce(part, _codes(choices, part.x, racked=False))
    for name in SKIN[4:]:
        part = joined(part, plain_options(choices, name, follow))
        part = reduce(part, _codes(choices, part.x, racked=False))
    codes = _codes(choices, part.x, racked=False)
    raw = raw_skins(choices)
    found = []
    for code in np.unique(codes):
        rows = part.rows(codes == code)
        rows = rows.rows(np.argsort(rows.resistance, kind="stable"))
        first, second, closed = bool(code & 1), bool(code & 2), bool(code & 4)
        found.append(SkinClass(first, second, closed, rows, raw[first, second, closed]))
    return found


def _codes(choices: Choices, x: Index, racked: bool = True) -> NDArray:
    """A number for what must agree between rows that may displace each other."""
    first = choices.flag("outer gap board", "present", x)
    second = choices.flag("inner gap board", "present", x)
    closed = choices.flag("outer board", "present", x) | choices.flag("sheathing", "present", x)
    code = first + 2 * second + 4 * closed
    return code + 8 * choices.flag("sheathing", "racking", x) if racked else code


def raw_skins(choices: Choices) -> dict[tuple[bool, bool, bool], int]:
    """How many skins each class has before any is dropped, counted."""
    free = 1
    for name in ("airtight layer", "cladding", "ventilated space", "lining"):
        free *= len(choices.options[name])
    outside = rules.outside(choices)
    first, second = choices.column["outer gap board"], choices.column["inner gap board"]["present"]
    found = {}
    for parted in (False, True):
        for back in (False, True):
            for closed in (False, True):
                count = 0
                for racked in (False, True):
                    boards = int(((first["present"] == parted) & (first["racking"] == racked)).sum())
                    ways = outside[racked][True] if closed else outside[racked][False] - outside[racked][True]
                    count += boards * ways
                found[parted, back, closed] = count * int((second == back).sum()) * free
    return found


@dataclass(frozen=True)
class Services:
    """Service zones: battens' share of the area (m,), resistance through fill (in `part`) and through batten (m,)."""

    part: Part
    share: Array
    batten: Array
    lower: Array  # (m,) resistance of the layer, fill and batten side by side
    raw: int

    @property
    def mean(self) -> Array:
        """(m,) resistance averaged by area."""
        return (1 - self.share) * self.part.resistance + self.share * self.batten


def services(choices: Choices, follow: Figures, thin: bool = True) -> Services:
    """All service zones; none at all is one of them."""
    zone, fill = AT["service zone"], AT["service fill"]
    table = choices.tables["service fill"]
    present = choices.column["service zone"]["present"]
    pairs = [(z, f) for z in range(len(present)) for f in range(len(choices.fills["service fill"]))]
    pairs = [(z, f) for z, f in pairs if (table.fits[f, z] if present[z] else f == 0)]
    x = np.zeros((len(pairs), len(VARIABLES)), np.int32)
    x[:, zone], x[:, fill] = np.array(pairs).T
    figures, found = np.empty((len(x), len(follow.keys))), np.empty((len(x), 5))
    for rows, batch in choices.batches(x, ("service zone",)):
        member = batch.member_of(zone)
        figures[rows] = figures_of(batch, follow, (zone,))
        columns = (member.fraction, member.resistance, side_by_side(batch), batch.resistance[:, zone], member.width)
        found[rows] = np.stack(columns, axis=1)
    share, batten, lower, fill, width = found.T
    part = Part(x, figures, fill)
    alive = np.ones(len(x), bool)
    if thin:  # battens displace each other within one width and spacing
        alive[:] = False
        groups = np.unique(np.stack([share, width], axis=1), axis=0, return_inverse=True)[1].ravel()
        for rows in grouped_rows(groups):
            better = np.stack([fill[rows], batten[rows]], axis=1)
            alive[rows] = kept(figures[rows], better, len(follow.objectives))
    return Services(part.rows(alive), share[alive], batten[alive], lower[alive], len(x))


@dataclass(frozen=True)
class Groups:
    """Service zones of one depth taken together: the best that any of them offers."""

    of: NDArray[np.integer]  # (m,) group of each service zone
    size: NDArray[np.integer]  # (g,)
    figures: Array  # (g, k) least
    mean: Array  # (g,) largest
    lower: Array  # (g,) largest


def grouped(zones: Services) -> Groups:
    """Group service zones by their resistance, about six groups."""
    order = np.argsort(zones.mean, kind="stable")
    of = np.empty(len(order), int)
    of[order] = np.arange(len(order)) * min(6, len(order)) // len(order)
    count = of.max() + 1
    rows = [np.flatnonzero(of == group) for group in range(count)]
    return Groups(
        of,
        np.array([len(each) for each in rows]),
        np.array([zones.part.figures[each].min(axis=0) for each in rows]),
        np.array([zones.mean[each].max() for each in rows]),
        np.array([zones.lower[each].max() for each in rows]),
    )


def joint_service(choices: Choices) -> bool:
    """Whether battens of the service zone may stand on a frame's line: then they are part of the core."""
    return choices.brief.slot("service zone").axis == "vertical" and choices.brief.framing.fraction is None


def figures_of(batch: WallBatch, follow: Figures, layers: tuple[int, ...]) -> Array:
    """Figures (n, k) in steps of some layers of a batch."""
    held = {
        quantity: area.per_layer(batch, quantity)[:, layers].sum(axis=1)
        for key in follow.keys
        if key != "thickness_mm"
        for quantity in QUANTITY[key]
    }
    values = [
        batch.thickness[:, layers].sum(axis=1) * 1000
        if key == "thickness_mm"
        else sum(held[quantity] for quantity in QUANTITY[key])
        for key in follow.keys
    ]
    return np.stack(values, axis=1) * follow.scale


SAME_FRAME = ("thickness", "width", "spacing", "offset", "extra", "resistance", "sd", "sd_humid")


def frames_kept(choices: Choices, name: str, follow: Figures, reads: Reads | None = None) -> NDArray:
    """Options of a frame slot (their numbers) without those that another of the very same geometry displaces."""
    column = choices.column[name]
    geometry = np.nan_to_num(np.stack([column[key] for key in SAME_FRAME], axis=1), nan=-1.0)
    code = np.zeros(len(geometry)) if reads is None else reads.code
    groups = np.unique(np.column_stack([np.round(geometry, 12), code]), axis=0, return_inverse=True)[1].ravel()
    better = np.zeros((len(groups), 1)) if reads is None or not reads.larger.size else reads.larger
    share = column["width"] / column["spacing"] + column["extra"]
    values = [
        np.zeros(len(share)) if key == "thickness_mm" else share * sum(column[each] for each in QUANTITY[key])
        for key in follow.keys
    ]
    figures = np.stack(values, axis=1) * follow.scale
    alive = np.zeros(len(share), bool)
    for rows in grouped_rows(groups):
        alive[rows] = kept(figures[rows], better[rows], len(follow.objectives))
    return np.flatnonzero(alive)


def fills_kept(choices: Choices, follow: Figures) -> NDArray:
    """Numbers of the main fills without those that another displaces at every depth, in every zone.

    Only a fill of the same behaviour (loose, batt, air) that fits wherever this one does can displace it.
    """
    count = len(choices.fills["gap fill"])
    curves = [_fill_curves(choices, number, follow) for number in range(count)]
    dropped: set[int] = set()
    for number in range(count):
        for other in range(count):
            if (
                other != number
                and other not in dropped
                and _displaces(curves[other], curves[number], len(follow.objectives))
            ):
                dropped.add(number)
                break
    return np.array([number for number in range(count) if number not in dropped])


def _fill_curves(choices: Choices, number: int, follow: Figures) -> tuple:
    """(behaviour, fits, resistances, figures by place (places, k), least depth of each place) of one fill."""
    kinds = choices.kinds["gap fill"]
    fits, resistance, figures, depths = [], [], [], []
    for name in ("outer fill", "gap fill", "inner fill"):
        if number >= len(choices.fills[name]):
            continue  # air stands on the gap's list only
        table, thickness = choices.tables[name], choices.column[ZONE[name]]["thickness"]
        fits.append(table.fits[number])
        resistance.append(table.resistance[number])
        if kinds.loose[number]:
            continue
        mass = kinds.density[number, 0] * thickness
        by_key = {
            "thickness_mm": np.zeros(len(thickness)),
            "cost_per_m2": table.price[number] + table.labour[number],
            "carbon_kgco2e_m2": kinds.carbon_per_kg[number] * mass,
            WHOLE_LIFE: kinds.carbon_per_kg[number] * mass,
            "weight_kg_m2": mass,
        }
        figures.append(np.stack([by_key[key] for key in follow.keys], axis=1)[thickness > 0])
        depths.append(thickness[thickness > 0])
    if kinds.loose[number]:
        used = [choices.column[name]["thickness"] for name in CORE]
        least = min(float(each[each > 0].min()) for each in used if (each > 0).any())
        figures = [per_m3(choices, number, follow) * least / follow.scale]
    behaviour = (bool(kinds.loose[number]), bool(kinds.air[number]))
    return behaviour, np.concatenate(fits), np.concatenate(resistance), np.concatenate(figures) * follow.scale


def per_m3(choices: Choices, number: int, follow: Figures) -> Array:
    """What a m3 of a loose main fill brings (whole mm of void depth, k) in steps; 0 for other fills."""
    kinds = choices.kinds["gap fill"]
    density = kinds.density[number]
    if not kinds.loose[number]:
        return np.zeros((len(density), len(follow.keys)))
    by_key = {
        "thickness_mm": np.zeros(len(density)),
        "cost_per_m2": kinds.price_per_kg[number] * density + kinds.price_per_m3[number] + kinds.labour_per_m3[number],
        "carbon_kgco2e_m2": kinds.carbon_per_kg[number] * density,
        WHOLE_LIFE: kinds.carbon_per_kg[number] * density,
        "weight_kg_m2": density,
    }
    return np.stack([by_key[key] for key in follow.keys], axis=1) * follow.scale


def _displaces(other: tuple, one: tuple, objectives: int) -> bool:
    if other[0] != one[0] or other[0][1] or len(other[1]) != len(one[1]):
        return False
    fits = (other[1] | ~one[1]).all()
    warmer = (other[2] >= one[2]).all()
    if not (fits and warmer and (other[3] <= one[3]).all()):
        return False
    return bool((other[3] * LEAST_SHARE <= one[3] * LEAST_SHARE - MARGIN)[:, :objectives].all(axis=0).any())
