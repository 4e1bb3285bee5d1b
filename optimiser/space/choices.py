"""Choices: the whole discrete space of a brief. Index matrix -> WallBatch -> BuildUp.

A wall is a row of 17 integers: one per slot of the template, then what fills the outer frame, the gap, the inner
frame and the service zone. Which rows can be built is `rules.py`'s business.
"""

from __future__ import annotations

from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from materials.catalogue import Catalogue
from materials.errors import InputError

from ..batch import Array, Index, Members, WallBatch
from ..brief.brief import Brief
from ..heat import air_layers
from ..score.operation import operational_per_u
from ..stopping import ask
from ..template import (
    AT,
    BEFORE_GAP,
    BEHIND_GAP,
    CHOSEN,
    CORE,
    FILL_VARIABLES,
    GAP,
    GAP_FILL,
    INNER_FILL,
    INNER_FRAME,
    MEMBER_SLOTS,
    OUTER_FILL,
    OUTER_FRAME,
    SERVICE_FILL,
    SERVICE_ZONE,
    SLOTS,
    STUDS,
    VARIABLES,
    VENTED,
    ZONE,
)
from ..wall import layers
from ..wall.layers import Amount, Stock, Terms
from ..wall.pricing import Pricing
from .fill_tables import fill_kinds, fill_tables
from .options import FillOption, Option, fills_of, options_of

QUANTITIES = tuple(field.name for field in fields(Amount))
KNOWN = {
    "mass": "its mass is not known; give density_kg_m3 or mass_kg_m2",
    "price": "its price is not known",
    "carbon": "its carbon is not known in every module that [carbon] counts (fossil_kgco2e_kg; B4: service_life_years)",
}


class Choices:
    """The options of every variable under a brief, as arrays."""

    def __init__(self, brief: Brief, catalogue: Catalogue, pricing: Pricing) -> None:
        self.brief, self.catalogue, self.pricing = brief, catalogue, pricing
        self.options: dict[str, tuple[Option, ...]] = {
            name: options_of(name, brief, catalogue, pricing) for name in CHOSEN
        }
        self.options[GAP] = tuple(
            Option(f"{width:g}", f"{width:g} mm", thickness=width / 1000) for width in brief.gap.widths_mm()
        )
        main = fills_of("fill", brief, catalogue, pricing)
        solid = tuple(each for each in main if not each.air)
        if not solid:
            raise InputError('slots."fill": air alone does not insulate; allow a fill')
        service = fills_of(SERVICE_FILL, brief, catalogue, pricing)
        self.fills: dict[str, tuple[FillOption, ...]] = {
            OUTER_FILL: solid,
            GAP_FILL: main,
            INNER_FILL: solid,
            SERVICE_FILL: service,
        }
        self.operational = operational_per_u(brief.climate, brief.operation, brief.carbon.study_years)
        self.tie = _tie(brief, catalogue, pricing)
        self._check_overlap()
        self._tie_amounts = _tie_columns(brief, self.tie, self.options[GAP], pricing.terms)
        self.sizes = np.array([len(self.options.get(name) or self.fills[name]) for name in VARIABLES])
        self.column = {name: _columns(self.options[name]) for name in SLOTS}
        deepest = sum(self.column[name]["thickness"].max() for name in CORE)
        self.kinds = {
            name: fill_kinds(self.fills[name], pricing.terms, int(deepest * 1000) + 2) for name in FILL_VARIABLES
        }
        self.tables = fill_tables(self.fills, self.column, pricing.terms)
        self._check_known()

    def _check_known(self) -> None:
        """What is not known cannot be compared: a search takes no option without mass, price or carbon."""
        for name in SLOTS:
            for key, words in KNOWN.items():
                for unknown in np.flatnonzero(np.isnan(self.column[name][key])):
                    raise InputError(f'slots."{name}": "{self.options[name][unknown].key}": {words}')
        for name in FILL_VARIABLES:
            for unknown in np.flatnonzero(np.isnan(self.kinds[name].carbon_per_kg)):
                raise InputError(f'slots."{name}": "{self.fills[name][unknown].key}": {KNOWN["carbon"]}')

    def _check_overlap(self) -> None:
        """Tie plates lie beside the studs: they can't reach further than the shallowest one."""
        if self.tie is None:
            return
        depths = [each.thickness * 1000 for name in STUDS for each in self.options[name]]
        shallowest = min(depth for depth in depths if depth > 0)
        if self.brief.tie.overlap_mm > shallowest + 1e-6:
            raise InputError(
                f"tie.overlap_mm = {self.brief.tie.overlap_mm:g}: the shallowest stud allowed is {shallowest:g} mm "
                "deep; the plates cannot reach further"
            )

    def flag(self, name: str, what: str, x: Index) -> NDArray[np.bool_]:
        """(n,) a yes-or-no property of the options chosen for a slot: present, windtight, racking."""
        return self.column[name][what][x[:, AT[name]]]

    def any_present(self, names: tuple[str, ...], x: Index) -> NDArray[np.bool_]:
        """(n,) rows that fill at least one of some slots."""
        there = np.zeros(len(x), bool)
        for name in names:
            there |= self.flag(name, "present", x)
        return there

    def take(self, name: str, what: str, x: Index) -> Array:
        """(n,) a value of the options chosen for a slot."""
        return self.column[name][what][x[:, AT[name]]]

    def batches(self, x: Index, slots: tuple[str, ...] = SLOTS) -> list[tuple[NDArray, WallBatch]]:
        """The walls of the rows (which must be buildable), split by topology: (row numbers, batch).

        slots: the slots to lay; the others stay empty, which is how the parts of a wall are looked at apart.
        """
        by_topology = []
        inner_line, service_line = self._inner_aligned(x), self._service_line(x)
        for inner in (True, False):
            for service in (OUTER_FRAME, INNER_FRAME, SERVICE_ZONE):
                rows = np.flatnonzero((inner_line == inner) & (service_line == service))
                if len(rows):
                    ask()
                    by_topology.append((rows, self._batch(x[rows], inner, service, slots)))
        return by_topology

    def _inner_aligned(self, x: Index) -> NDArray[np.bool_]:
        """Whether the inner frame stands on the outer frame's line (an absent one does, with no width)."""
        if self.brief.framing.fraction is not None:
            return np.zeros(len(x), bool)
        same = self.take(OUTER_FRAME, "spacing", x) == self.take(INNER_FRAME, "spacing", x)
        return same | ~self.flag(INNER_FRAME, "present", x)

    def _service_line(self, x: Index) -> NDArray[np.str_]:
        """Whose line the battens of the service zone stand on, a frame's where axis and spacing are the same."""
        axis = self.brief.slot(SERVICE_ZONE).axis or "horizontal"
        if axis == "horizontal" or self.brief.framing.fraction is not None:
            return np.full(len(x), SERVICE_ZONE)
        outer, inner, service = (self.take(name, "spacing", x) for name in (OUTER_FRAME, INNER_FRAME, SERVICE_ZONE))
        on_inner = (service == inner) & self.flag(INNER_FRAME, "present", x)
        return np.where(service == outer, OUTER_FRAME, np.where(on_inner, INNER_FRAME, SERVICE_ZONE))

    def void_depths(self, x: Index) -> dict[str, Array]:
        """Depth [m] of the void that each main fill belongs to: boards on the gap's sides part it."""
        outer, gap, inner = (self.take(name, "thickness", x) for name in CORE)
        first, second = (self.any_present(names, x) for names in (BEFORE_GAP, BEHIND_GAP))
        one, two, three = x[:, AT[OUTER_FILL]], x[:, AT[GAP_FILL]], x[:, AT[INNER_FILL]]
        empty = gap == 0
        join_og = ~first & np.where(empty, True, one == two)
        join_gi = ~second & np.where(empty, ~first & (one == three), two == three)
        joined = np.where(empty, join_gi, join_og & join_gi)
        return {
            OUTER_FILL: outer + np.where(join_og, gap, 0) + np.where(joined, inner, 0),
            GAP_FILL: gap + np.where(join_og, outer, 0) + np.where(join_gi, inner, 0),
            INNER_FILL: inner + np.where(join_gi, gap, 0) + np.where(joined, outer, 0),
            SERVICE_FILL: self.take(SERVICE_ZONE, "thickness", x),
        }

    def _batch(self, x: Index, inner_aligned: bool, service_line: str, slots: tuple[str, ...]) -> WallBatch:
        count = len(x)
        table = {key: np.zeros((count, len(SLOTS)), order="F") for key in QUANTITIES}
        thickness = np.zeros((count, len(SLOTS)), order="F")
        for name in slots:
            thickness[:, AT[name]] = self.take(name, "thickness", x)
            for key in QUANTITIES:
                table[key][:, AT[name]] = 0.0 if name in MEMBER_SLOTS else self.take(name, key, x)
        voids = self.void_depths(x)
        for name in FILL_VARIABLES:
            if ZONE[name] not in slots:
                continue
            for key, values in self._fill(name, x, voids[name]).items():
                table[key][:, AT[ZONE[name]]] = values
        table["resistance"][:, [AT[name] for name in VENTED]] = 0.0
        members = {name: self._members(name, x, inner_aligned) for name in MEMBER_SLOTS if name in slots}
        if self.tie is not None and GAP in slots:
            members["tie"] = self._ties(x, inner_aligned)
        lines = _lines(inner_aligned, service_line, list(members))
        side = np.full(count, air_layers.R_SI["horizontal"])
        given = self.brief.climate
        r_si = side if given.surface_r_inside is None else np.full(count, given.surface_r_inside)
        r_se = side if given.surface_r_outside is None else np.full(count, given.surface_r_outside)
        return WallBatch(
            thickness=thickness, members=tuple(members.values()), lines=lines, r_si=r_si, r_se=r_se, **table
        )

    def whole_depth(self, name: str, void: Array) -> NDArray[np.integer]:
        """Column of the density table for voids of a depth [m]: whole mm, upwards."""
        return np.minimum(np.ceil(void * 1000 - 1e-6).astype(int), self.kinds[name].density.shape[1] - 1)

    def _fill(self, name: str, x: Index, void: Array) -> dict[str, Array]:
        """Quantities (n,) of what fills a zone, were it without members."""
        kinds, table = self.kinds[name], self.tables[name]
        fill, depth = x[:, AT[name]], x[:, AT[ZONE[name]]]
        thickness = self.take(ZONE[name], "thickness", x)
        mass = kinds.density[fill, self.whole_depth(name, void)] * thickness
        loose = kinds.loose[fill]
        return {
            "resistance": table.resistance[fill, depth],
            "mass": mass,
            "price": np.where(
                loose,
                kinds.price_per_kg[fill] * mass + kinds.price_per_m3[fill] * thickness,
                table.price[fill, depth],
            ),
            "labour": np.where(loose, kinds.labour_per_m3[fill] * thickness, table.labour[fill, depth]),
            "carbon": kinds.carbon_per_kg[fill] * mass,
            "biogenic": kinds.biogenic_per_kg[fill] * mass,
            "sd": table.sd[fill, depth],
            "sd_humid": table.sd_humid[fill, depth],
        }

    def _members(self, name: str, x: Index, inner_aligned: bool) -> Members:
        values = {key: self.take(name, key, x) for key in (*QUANTITIES, "width", "spacing", "extra")}
        if name == INNER_FRAME and inner_aligned:
            values["spacing"] = self.take(OUTER_FRAME, "spacing", x)
        ones = np.ones(len(x))
        return Members(layer=AT[name], centre=self.take(name, "offset", x), share=ones, **values)

    def tied(self, x: Index) -> NDArray[np.bool_]:
        """(n,) whether straight ties join the frames: a gap between studs on one line."""
        if self.tie is None:
            return np.zeros(len(x), bool)
        gap = self.take(GAP, "thickness", x) > 0
        straight = self.take(INNER_FRAME, "offset", x) == 0
        return gap & straight & self._inner_aligned(x) & self.flag(INNER_FRAME, "present", x)

    def _ties(self, x: Index, inner_aligned: bool) -> Members:
        """Ties in the gap, on the line of the studs; none where studs are staggered or stand alone."""
        spec = self.brief.tie
        gap = self.take(GAP, "thickness", x)
        width = self.tie.products[0].thickness_mm / 1000
        straight = (gap > 0) & (self.take(INNER_FRAME, "offset", x) == 0) & inner_aligned
        share = np.where(straight, spec.height_mm / spec.vertical_spacing_mm, 0.0)
        chosen = {key: values[x[:, AT[GAP]]] for key, values in self._tie_amounts.items()}
        zeros = np.zeros(len(x))
        return Members(
            layer=AT[GAP],
            width=np.full(len(x), width),
            spacing=self.take(OUTER_FRAME, "spacing", x),
            centre=zeros,
            share=share,
            extra=zeros,
            **chosen,
        )


def _lines(inner_aligned: bool, service_line: str, members: list[str]) -> tuple[tuple[int, ...], ...]:
    """Which members (by position) stand on one line; the battens of the ventilated space take no part."""
    lines = [[OUTER_FRAME, INNER_FRAME]] if inner_aligned else [[OUTER_FRAME], [INNER_FRAME]]
    if inner_aligned:  # straight ties stand on the line of both frames, and nowhere else
        lines[0].append("tie")
    if service_line == SERVICE_ZONE:
        lines.append([SERVICE_ZONE])
    else:
        lines[0 if service_line == OUTER_FRAME else -1].append(SERVICE_ZONE)
    positions = (tuple(members.index(name) for name in line if name in members) for line in lines)
    return tuple(line for line in positions if line)


def _columns_of(amounts) -> dict[str, Array]:
    amounts = list(amounts)
    return {key: np.array([getattr(each, key) for each in amounts]) for key in QUANTITIES}


def _columns(options: tuple[Option, ...]) -> dict[str, NDArray]:
    columns: dict[str, NDArray] = _columns_of(each.amount for each in options)
    for key in ("thickness", "width", "spacing", "offset", "extra"):
        columns[key] = np.array([getattr(each, key) for each in options], float)
    columns["present"] = np.array([each.present for each in options])
    for key in ("windtight", "racking"):
        columns[key] = np.array([bool(each.material and getattr(each.material, key)) for each in options])
    return columns


def _tie(brief: Brief, catalogue: Catalogue, pricing: Pricing) -> Stock | None:
    if brief.tie is None:
        return None
    product = pricing.named(brief.tie.product, "tie.product")[0]
    material = catalogue.get(product.material)
    if not product.thickness_mm:
        raise InputError(f'tie.product: "{product.key}" has no thickness')
    if material.origin == "metal":
        raise InputError(
            f'tie.product: "{product.key}" is metal; the combined method does not judge metal ties (ISO 6946)'
        )
    return Stock.of(material, product)


def _tie_columns(brief: Brief, stock: Stock | None, gaps: tuple[Option, ...], terms: Terms) -> dict[str, Array]:
    """Amounts of solid tie plates by width of the gap."""
    if stock is None:
        return {}
    spec, width = brief.tie, stock.products[0].thickness_mm / 1000
    height, overlap = spec.height_mm / 1000, spec.overlap_mm / 1000
    return _columns_of(layers.ties(stock, each.thickness, width, height, overlap, terms) for each in gaps)
