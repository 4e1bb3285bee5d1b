"""What each layer of a wall takes round a house, line by line: the counting behind the take-off."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from materials.errors import InputError
from materials.models import Material, Product

from ...brief.brief import Framing
from ...score import cost
from ...template import AIRTIGHT
from ...wall.assemble import LayerParts, frame_width
from ...wall.buildup import AIR, tie_frames
from ...wall.layers import Stock, Terms, sawn
from ..filling.sheet import FillingSheet
from ..pieces.counting import (
    COMMON,
    Counted,
    CountingPractice,
    Pieces,
    Placed,
    cut_lengths,
    joints,
    laps,
    sheet_size,
    sheets_laid,
    ties,
    timber,
)
from .cutting import CuttingPlan, cutting_plan


@dataclass(frozen=True)
class Item:
    """One line. Quantities in `unit`: by the score, net as counted, gross as bought before whole packs."""

    layer: int  # number from 1, outside first
    role: str
    what: str
    material: str
    product: Product | None
    unit: str
    score: float
    net: float
    gross: float
    kg_per_unit: float | None
    rule: str
    count: int | None = None  # pieces, where they are counted
    length_mm: float | None = None
    section: str = ""  # of timber by the metre: whose cutting plan it is in
    face_m2: float | None = None  # of members: what they take of the layer's face, length times width

    @property
    def waste(self) -> float:
        return self.gross - self.net

    @property
    def price(self) -> float | None:
        return None if self.product is None else self.product.price

    @property
    def key(self) -> str:
        """What it is bought as."""
        return self.product.key if self.product else f"{self.material}, {self.what}"


@dataclass(frozen=True)
class TimberSection:
    """The timber of one section with its cutting plan.

    loose: stock bought on top, for members of no stated length that long offcuts do not serve.
    """

    key: str
    name: str
    product: Product | None
    plan: CuttingPlan
    loose_mm: float
    loose_count: int
    net_m: float

    @property
    def bought_m(self) -> float:
        return (self.plan.stock_mm + self.loose_mm * self.loose_count) / 1000


def units_per_m2(product: Product, thickness: float, mass: float) -> float:
    """Units of a product in a m2 of a solid layer of it: as its price per m2 is made (`score.cost`)."""
    return cost.net_price_per_m2(product.model_copy(update={"price": 1.0}), thickness, mass)


class Counting:
    """The counting of one wall: what each layer takes, and the timber of each section over all layers."""

    def __init__(
        self,
        at: Placed,
        framing: Framing,
        terms: Terms,
        practice: CountingPractice,
        parts: list[LayerParts],
        sheet: FillingSheet,
    ) -> None:
        self.at, self.framing, self.practice, self.parts, self.sheet = at, framing, practice, parts, sheet
        self.fixings: Mapping = terms.fixings
        self.volumes = dict(sheet.volume_by_layer)
        self.cut: dict[str, tuple[Stock, list[Pieces], float]] = {}

    def of(self, layer: int, share: float) -> Iterator[Item]:
        """The items of a layer: what it is made of, its members or ties, what fixes it.

        share: of the area that the score gives to what lies between the members.
        """
        part, it = self.parts[layer], self.at.wall.layers[layer]
        area, score_area = self.at.net(layer), share * self.at.area_m2
        if it.frame is not None:
            counted, width = self._counted(layer, part)
            metres = math.fsum(counted.metres(each) for each in counted.score_m)
            area = max(area - metres * width, 0.0)
            yield from self._timber(layer, part, counted, width)
            yield from self._fixed(layer, it.role, "per_m", metres, math.fsum(counted.score_m.values()))
        elif it.tie is not None:
            plates = self._ties(layer, part)
            yield plates
            yield from self._fixed(layer, "tie", "per_tie", plates.count or 0, self._ties_by_score(layer))
        yield from self._plain(layer, part, area, score_area)
        if part.stock.material.kind not in ("loose fill", "air"):
            yield from self._fixed(layer, it.role, "per_m2", area, score_area)

    # What lies in a layer

    def _plain(self, layer: int, part: LayerParts, area: float, score_area: float) -> Iterator[Item]:
        it = self.at.wall.layers[layer]
        material = part.stock.material
        if it.material == AIR or material.kind == "air":
            return
        thickness = it.thickness_mm / 1000
        if material.kind == "loose fill":
            yield self._fill(layer, part, score_area)
            return
        products, mass = part.stock.products, _solid_mass(material, thickness)
        if not products:
            yield self._sheet(layer, part.stock, None, thickness, mass, area, score_area)
        total = sum(each.thickness_mm or 0 for each in products)
        for each in products:
            share = (each.thickness_mm or 0) / total if total else 1 / len(products)
            product_thickness = (each.thickness_mm or 0) / 1000
            yield self._sheet(layer, part.stock, each, product_thickness, share * mass, area, score_area)

    def _sheet(
        self, layer: int, stock: Stock, product: Product | None, thickness: float, mass: float, area: float, by: float
    ) -> Item:
        """A board, membrane, cladding, lining or batt: of that thickness [m] and mass [kg/m2], over an area [m2].

        by: the area that the score has of it.
        """
        material = stock.material
        per_m2 = 1.0 if product is None else units_per_m2(product, thickness, mass)
        waste = _waste(stock, product)
        gross, rule = area * (1 + waste), f"net area and {waste:.0%} waste"
        contents = product.pack_contents if product is not None and product.unit == "m2" else None
        if material.kind == "membrane":
            roll = (contents / (self.practice.roll_width_mm / 1000)) if contents else self.practice.roll_length_m
            gross = max(gross, area * laps(self.practice, roll))
            rule += f", or laps of {self.practice.lap_mm:g} mm where they take more"
        elif contents and product.pack == "sheet" and (size := sheet_size(contents, self.practice)):
            gross = max(gross, sheets_laid(self.at, layer, size) * contents)
            rule += f", or sheets of {size[0]:g} x {size[1]:g} m as laid where they take more"
        return Item(
            layer=layer + 1,
            role=self.at.wall.layers[layer].role,
            what={"membrane": "membrane", "batt": "batts"}.get(material.kind or "", "sheets or boards"),
            material=material.name,
            product=product,
            unit="m2" if product is None else product.unit,
            score=per_m2 * by,
            net=per_m2 * area,
            gross=per_m2 * gross,
            kg_per_unit=_known(mass / per_m2 if per_m2 else 0.0),
            rule=rule,
        )

    def _fill(self, layer: int, part: LayerParts, score_area: float) -> Item:
        it, material = self.at.wall.layers[layer], part.stock.material
        product = part.stock.products[0] if part.stock.products else None
        void = next(n for n, each in enumerate(self.sheet.layers, 1) if layer + 1 in each)
        density = next((each.density_kg_m3 for each in self.sheet.chambers if each.void == void), 0.0)
        volume = self.volumes.get(layer + 1, 0.0)
        kg = self.sheet.kg_of(void) * self._share_of_void(void, layer)
        thickness = it.thickness_mm / 1000
        mass = part.plain.held[0].mass  # kg per m2, as the score blows it
        by = "kg" if product is None else product.unit
        per_m2 = mass if by == "kg" else units_per_m2(product, thickness, mass)
        net = {"kg": kg, "m3": volume}.get(by, per_m2 * volume / thickness if thickness else 0.0)
        waste = _waste(part.stock, product)
        return Item(
            layer=layer + 1,
            role=it.role,
            what="blown fill",
            material=material.name,
            product=product,
            unit=by,
            score=per_m2 * score_area,
            net=net,
            gross=net * (1 + waste),
            kg_per_unit=_known(mass / per_m2 if per_m2 else 0.0),
            rule=f"{volume:.2f} m3 in chambers at {density:g} kg/m3, and {waste:.0%} waste",
        )

    def _share_of_void(self, void: int, layer: int) -> float:
        whole = math.fsum(self.volumes.get(each, 0.0) for each in self.sheet.layers[void - 1])
        return self.volumes.get(layer + 1, 0.0) / whole if whole else 0.0

    # What crosses it

    def _counted(self, layer: int, part: LayerParts) -> tuple[Counted, float]:
        """The members, counted, and their width [m]."""
        frame = self.at.wall.layers[layer].frame
        width = (frame.width_mm or frame_width(part.member_stock)) / 1000
        counted = timber(self.at, layer, self.framing, self.practice)
        if frame.fraction is not None:
            loose = {"members": self.at.net(layer) * frame.fraction / width}
            counted = Counted((), loose, {"members": self.at.area_m2 * frame.fraction / width})
        return counted, width

    def _timber(self, layer: int, part: LayerParts, counted: Counted, width: float) -> Iterator[Item]:
        stock, it = part.member_stock, self.at.wall.layers[layer]
        product = stock.products[0] if stock.products else None
        depth = it.thickness_mm / 1000
        mass = _solid_mass(stock.material, depth)  # per m2 of solid members: a metre of them is `width` of it
        per_m = width * (1 / width if product is None else units_per_m2(product, depth, mass))
        by_metre = product is None or product.unit == "m"
        key = product.key if product else f"{stock.material.name} {sawn(round(width * 1000, 6), it.thickness_mm)}"
        if by_metre:
            self._saw(key, stock, counted)
        waste = _waste(stock, product)
        for what, score in counted.score_m.items():
            metres = counted.metres(what)
            pieces = [each for each in counted.pieces if each.what == what]
            yield Item(
                layer=layer + 1,
                role=it.role,
                what=what,
                material=stock.material.name if product else key,
                product=product,
                unit="m" if product is None else product.unit,
                score=per_m * score,
                net=per_m * metres,
                gross=per_m * metres * (1 + waste),
                kg_per_unit=_known(mass * width / per_m if per_m else 0.0),
                rule="cutting plan" if by_metre and pieces else f"{waste:.0%} waste",
                count=sum(each.count for each in pieces) or None,
                length_mm=pieces[0].length_mm if len({each.length_mm for each in pieces}) == 1 else None,
                section=key if by_metre else "",
                face_m2=metres * width,
            )

    def _saw(self, key: str, stock: Stock, counted: Counted) -> None:
        """Put pieces aside for the cutting plan of their section."""
        _, pieces, loose = self.cut.get(key, (stock, [], 0.0))
        loose += math.fsum(counted.loose_m.values())
        self.cut[key] = (stock, [*pieces, *counted.pieces], loose)

    def _ties(self, layer: int, part: LayerParts) -> Item:
        tie, stock = self.at.wall.layers[layer].tie, part.member_stock
        product = stock.products[0] if stock.products else None
        number = ties(self.at, layer, self.framing)
        length = self.at.wall.layers[layer].thickness_mm / 1000 + 2 * tie.overlap_mm / 1000
        face = tie.thickness_mm * tie.height_mm * 1e-6  # m2 of solid plates, seen from the room
        mass = _solid_mass(stock.material, length)
        if product is None or product.unit == "m2":
            per_piece = length * tie.height_mm / 1000
        else:
            per_piece = face * units_per_m2(product, length, mass)
        if product is not None and product.unit == "m2" and product.thickness_mm:
            per_piece *= tie.thickness_mm / product.thickness_mm
        waste = _waste(stock, product)
        return Item(
            layer=layer + 1,
            role=self.at.wall.layers[layer].role,
            what="ties",
            material=stock.material.name,
            product=product,
            unit="m2" if product is None else product.unit,
            score=per_piece * self._ties_by_score(layer),
            net=per_piece * number,
            gross=per_piece * number * (1 + waste),
            kg_per_unit=_known(mass * face / per_piece if per_piece else 0.0),
            rule=f"{number} plates of {length * 1000:g} x {tie.height_mm:g} mm, and {waste:.0%} waste",
            count=number,
            length_mm=round(length * 1000, 1),
        )

    def _ties_by_score(self, layer: int) -> float:
        """Tie plates as the score has them: one for every spacing and vertical spacing of the area."""
        tie = self.at.wall.layers[layer].tie
        frame = tie_frames(self.at.wall.layers, layer)[0]
        return self.at.area_m2 / (frame.spacing_mm * tie.vertical_spacing_mm * 1e-6)

    # What fixes it

    def _fixed(self, layer: int, place: str, measure: str, net: float, score: float) -> Iterator[Item]:
        """Fixings and tapes of a place by a measure: net and by the score, in that measure."""
        for given, stock in self.fixings.get(place, ()):
            rate = getattr(given, measure)
            if rate is None:
                continue
            product = stock.products[0]
            waste = cost.waste_of(product, stock.material)
            units, rule = rate * net, f"{rate:g} {product.unit} {measure.replace('_', ' ')}, and {waste:.0%} waste"
            if product.unit == "m" and place == AIRTIGHT and measure == "per_m2":
                counted = self._joints(layer)
                if counted > units:
                    units, rule = counted, f"joints and edges as laid, and {waste:.0%} waste"
            yield Item(
                layer=layer + 1,
                role=place if place == "tie" else self.at.wall.layers[layer].role,
                what="tape" if product.unit == "m" else "fixings",
                material=stock.material.name,
                product=product,
                unit=product.unit,
                score=rate * score,
                net=units,
                gross=units * (1 + waste),
                kg_per_unit=_known(cost.unit_mass(product)),
                rule=rule,
            )

    def _joints(self, layer: int) -> float:
        stock = self.parts[layer].stock
        product = stock.products[0] if stock.products else None
        contents = product.pack_contents if product is not None and product.unit == "m2" else None
        size = sheet_size(contents, self.practice) if contents and product.pack == "sheet" else None
        return joints(self.at, layer, stock.material.kind == "membrane", size, self.practice)

    # What is sawn

    def sections(self) -> Iterator[TimberSection]:
        """The cutting plan of each section of timber, over all layers."""
        for key, (stock, pieces, loose) in self.cut.items():
            product = stock.products[0] if stock.products else None
            lengths = stock_lengths(product, self.practice)
            demand: dict[float, int] = {}
            for each in pieces:
                try:
                    cuts = cut_lengths(each, lengths)
                except InputError as error:
                    raise InputError(f"{key}: {error}") from None
                for length, count in cuts.items():
                    demand[length] = demand.get(length, 0) + count
            net = math.fsum(each.count * each.length_mm for each in pieces) / 1000 + loose
            plan = cutting_plan(demand, lengths, self.practice.kerf_mm)
            served = math.fsum(
                each.count * each.offcut_mm for each in plan.bars if each.offcut_mm >= self.practice.offcut_mm
            )
            left = loose * (1 + _waste(stock, product)) * 1000 - served
            bars = max(math.ceil(left / min(lengths) - 1e-9), 0)
            yield TimberSection(key, product.name if product else key, product, plan, min(lengths), bars, net)


def stock_lengths(product: Product | None, practice: CountingPractice = COMMON) -> tuple[float, ...]:
    """The lengths that a timber is sold in [mm]: the list's where it sells by the piece, else the usual ones."""
    if product is not None and product.pack == "piece" and product.unit == "m" and product.pack_contents:
        return (round(product.pack_contents * 1000, 1),)
    return tuple(round(each * 1000, 1) for each in practice.stock_lengths_m)


def _waste(stock: Stock, product: Product | None) -> float:
    return stock.material.waste_fraction if product is None else cost.waste_of(product, stock.material)


def _solid_mass(material: Material, thickness: float) -> float:
    """Mass of a m2 of a solid layer [kg]; NaN where it is not known."""
    if material.mass_kg_m2 is not None and thickness == 0:
        return material.mass_kg_m2
    return math.nan if material.density_kg_m3 is None else material.density_kg_m3 * thickness


def _known(value: float) -> float | None:
    return value if math.isfinite(value) else None
