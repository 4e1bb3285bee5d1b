"""BuildUp: one wall as a list of layers from outside to inside, and its TOML file both ways.

The file format is the contract of DEVELOPERS.md ("A build-up file"). Nothing here calculates: `batch.py`
turns build-ups into arrays.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal

import tomli_w
from pydantic import Field, PrivateAttr, ValidationError, model_validator

from materials.catalogue import Catalogue
from materials.errors import Checked, InputError, explain, kind_of_file, nearest, parse_toml
from materials.models import Material
from materials.parsed import read_toml
from materials.slips import METRES, Bounds

from ..template import VENTILATED_SPACE
from .conditions import Conditions, Loads
from .own_material import own_material
from .quantities import (
    Emissivity,
    NotNegative,
    Number,
    PerArea,
    Piece,
    Share,
    Size,
    Spacing,
    Thickness,
    Width,
)
from .storey_framing import StoreyFraming, check_framing
from .weather import with_weather

AIR = "air"
MOST_LAYERS = 60
NEVER_THIN = ("timber", "batt", "loose fill", "insulating board", "board")
THICK = Bounds(1, 5000, "mm", (METRES,), zero=True)
MOST_CROSSED = 10  # layers with members: the paths of heat through a wall multiply with each


class Frame(Checked):
    """Members across a layer: studs or battens."""

    material: str
    width_mm: Width | None = None
    spacing_mm: Spacing | None = None
    axis: Literal["vertical", "horizontal"] = "vertical"
    offset_mm: NotNegative = 0.0
    extra_fraction: Share = 0.0
    fraction: Share | None = None
    product: str | None = None
    supplier: str | None = None

    @model_validator(mode="after")
    def _geometry(self) -> Frame:
        if self.fraction is None:
            if self.width_mm is None or self.spacing_mm is None:
                raise ValueError("a frame needs width_mm and spacing_mm, or a fraction")
            if self.width_mm / self.spacing_mm + self.extra_fraction >= 1:
                raise ValueError(
                    "the members leave no room between them: width_mm / spacing_mm + extra_fraction must be below 1"
                )
        elif self.extra_fraction:
            raise ValueError("fraction replaces the geometry: extra_fraction cannot stand beside it")
        return self


class Tie(Checked):
    """Plates from stud to stud across the gap, on the line of the studs."""

    material: str
    thickness_mm: Width
    height_mm: Piece
    vertical_spacing_mm: Spacing
    overlap_mm: NotNegative = 0.0
    product: str | None = None
    supplier: str | None = None

    @model_validator(mode="after")
    def _fits(self) -> Tie:
        if self.height_mm > self.vertical_spacing_mm:
            raise ValueError("height_mm must not exceed vertical_spacing_mm")
        return self


class Layer(Checked):
    """One layer; `material` is what fills the space between the members where there is a frame."""

    role: str
    material: str
    thickness_mm: Thickness
    frame: Frame | None = None
    tie: Tie | None = None
    ventilation: Literal["none", "slight", "well"] | None = None
    opening_mm2_per_m: NotNegative | None = None
    emissivities: tuple[Emissivity, Emissivity] | None = None
    product: str | tuple[str, ...] | None = None  # several where batts lie in stock layers
    supplier: str | None = None

    @model_validator(mode="after")
    def _consistent(self) -> Layer:
        if self.frame and self.tie:
            raise ValueError("a layer has a frame or a tie, not both: ties stand in the gap")
        if self.product == ():
            raise ValueError("product = [] names nothing: leave it out, or name what the layer is bought as")
        air_only = {"ventilation": self.ventilation, "opening_mm2_per_m": self.opening_mm2_per_m}
        for key, value in (air_only | {"emissivities": self.emissivities}).items():
            if value is not None and self.material != AIR:
                raise ValueError(f'{key} belongs to a layer of material "air"')
        if self.ventilation == "slight" and self.opening_mm2_per_m is None:
            raise ValueError('ventilation = "slight" needs opening_mm2_per_m (above 500, below 1500)')
        if self.opening_mm2_per_m is not None and self.ventilation != "slight":
            raise ValueError('opening_mm2_per_m belongs to ventilation = "slight"')
        return self

    @property
    def well_ventilated(self) -> bool:
        """Whether this layer and all outside it carry no resistance (ISO 6946, well-ventilated air layers)."""
        if self.ventilation is not None:
            return self.ventilation == "well" or (self.opening_mm2_per_m or 0) >= 1500
        return self.role == VENTILATED_SPACE


class Fastener(Checked):
    """Metal fasteners through an insulation layer (ISO 6946, correction for mechanical fasteners)."""

    layer: int | str
    number_per_m2: PerArea
    conductivity_w_mk: Annotated[Number, Field(gt=0, le=1000)]
    diameter_mm: Annotated[Number, Field(gt=0, le=100)]
    length_mm: Size | None = None  # in the layer, when recessed


class PointBridge(Checked):
    """Point fasteners of known point transmittance."""

    number_per_m2: PerArea
    chi_w_k: Annotated[Number, Field(ge=0, le=10)]


class Corrections(Checked):
    """Corrections of ISO 6946 to the transmittance."""

    air_gap_level: Literal[0, 1, 2] = 0
    air_gap_layer: int | str | None = None
    fastener: tuple[Fastener, ...] = ()
    point: tuple[PointBridge, ...] = ()

    @model_validator(mode="after")
    def _named(self) -> Corrections:
        if self.air_gap_level and self.air_gap_layer is None:
            raise ValueError(
                "air_gap_level needs air_gap_layer: the number or role of the insulation layer with the gaps"
            )
        return self


class BuildUp(Checked):
    """One wall: layers from outside to inside, with every material they name."""

    name: str
    element: Literal["wall", "roof", "floor"] = "wall"
    outside: Literal["vented", "exposed"]
    layers: tuple[Layer, ...] = Field(alias="layer", max_length=MOST_LAYERS)
    conditions: Conditions = Conditions()
    loads: Loads | None = None
    corrections: Corrections = Corrections()
    framing: StoreyFraming | None = None
    materials: dict[str, Material]  # every material the layers name, resolved
    _own: dict[str, dict[str, Any]] = PrivateAttr(default_factory=dict)  # tables of [materials] as the file has them

    @model_validator(mode="after")
    def _not_empty(self) -> BuildUp:
        if not self.layers:
            raise ValueError("expected at least one [[layer]]")
        crossed = sum(each.frame is not None or each.tie is not None for each in self.layers)
        if crossed > MOST_CROSSED:
            raise ValueError(f"{crossed} layers with a frame or a tie; expected at most {MOST_CROSSED}")
        return self

    def of(self, key: str) -> Material:
        """The material that a layer, frame or tie names."""
        return self.materials[key]

    @property
    def own_tables(self) -> dict[str, dict[str, Any]]:
        """The tables of the file's own materials that are like another: what is stated there, and `like`."""
        return self._own

    @property
    def thickness_mm(self) -> float:
        return sum(layer.thickness_mm for layer in self.layers)

    def index_of(self, layer: int | str) -> int:
        """Position of a layer named by its number (from 1, outside first) or its role."""
        if isinstance(layer, int) and 1 <= layer <= len(self.layers):
            return layer - 1
        roles = [each.role for each in self.layers]
        if layer in roles:
            return roles.index(layer)
        raise InputError(
            f"{self.name}: corrections name layer {layer!r}, which the wall does not have{nearest(str(layer), roles)}"
        )


def read_buildup(path: Path, catalogue: Catalogue) -> BuildUp:
    """Read a build-up file. InputError names file, layer, value and what was expected."""
    return buildup_from(read_toml(path), catalogue, str(path), path.parent)


def parse_buildup(text: str, catalogue: Catalogue, place: str) -> BuildUp:
    """The same from text, for uploads; `place` stands for the file name in messages."""
    return buildup_from(parse_toml(text, place), catalogue, place)


def buildup_from(raw: dict[str, Any], catalogue: Catalogue, place: str, folder: Path | None = None) -> BuildUp:
    """Validate the parsed file and resolve its materials. folder: that a weather file stands in."""
    if not raw:
        raise InputError(f"{place}: is empty; expected name, outside and at least one [[layer]]")
    if kind_of_file(raw) == "a brief":
        raise InputError(f"{place}: this is a brief; expected a build-up, with at least one [[layer]]")
    raw = dict(raw)
    if "layers" in raw:
        raise InputError(f'{place}: layers: unknown key (nearest: "layer"); every layer is a [[layer]]')
    inline_tables = raw.pop("materials", {})
    if not isinstance(inline_tables, dict):
        raise InputError(f"{place}: materials must be tables, as [materials.my-fill]")
    if "conditions" in raw:
        raw["conditions"] = with_weather(raw["conditions"], folder, f"{place}: conditions")
    layers = raw.get("layer", [])
    names = {
        ("layer", number): str(layer.get("role", "no role"))
        for number, layer in enumerate(layers if isinstance(layers, list) else [])
        if isinstance(layer, dict)
    }
    try:
        bare = BuildUp(**raw, materials={})
    except ValidationError as error:
        raise explain(error, place, names) from None
    except TypeError:
        raise InputError(f"{place}: expected tables and keys of a build-up file") from None
    inline = {key: own_material(key, values, catalogue, place) for key, values in inline_tables.items()}
    named_materials = {key: _find(key, inline, catalogue, place, where) for key, where in _named(bare)}
    wall = bare.model_copy(update={"materials": named_materials})
    _check_thicknesses(wall, place)
    wall.own_tables.update({key: dict(table) for key, table in inline_tables.items() if "like" in table})
    _check_ties(wall, place)
    _check_corrections(wall, place)
    check_framing(wall.framing, wall.layers, place)
    return wall


def _check_thicknesses(wall: BuildUp, place: str) -> None:
    """What is sawn, pressed or filled in is no thinner than a millimetre: a thickness below was in another unit."""
    for number, layer in enumerate(wall.layers, 1):
        if wall.materials[layer.material].kind not in NEVER_THIN and layer.frame is None:
            continue
        if not THICK.holds(layer.thickness_mm):
            words = THICK.words(layer.thickness_mm)
            where = f"{place}: layer {number} ({layer.role}), thickness_mm = {layer.thickness_mm:g}"
            raise InputError(f"{where}: {words}")


def _named(wall: BuildUp) -> list[tuple[str, str]]:
    """Every material key with the place that names it."""
    mentions = []
    for number, layer in enumerate(wall.layers, 1):
        place = f"layer {number} ({layer.role})"
        mentions.append((layer.material, place))
        if layer.frame:
            mentions.append((layer.frame.material, f"{place}, frame"))
        if layer.tie:
            mentions.append((layer.tie.material, f"{place}, tie"))
    return mentions


def _find(key: str, inline: dict[str, Material], catalogue: Catalogue, place: str, where: str) -> Material:
    if key in inline:
        return inline[key]
    if key in catalogue.materials:
        return catalogue.materials[key]
    hint = nearest(key, [*inline, *catalogue.materials])
    raise InputError(f'{place}: {where}: material "{key}" is neither in the catalogue nor in [materials]{hint}')


def _check_ties(wall: BuildUp, place: str) -> None:
    """A straight tie needs a stud on its line on both sides."""
    for number, layer in enumerate(wall.layers):
        if layer.tie is None:
            continue
        where = f"{place}: layer {number + 1} ({layer.role}), tie"
        pair = tie_frames(wall.layers, number)
        if pair and pair[0].spacing_mm and layer.tie.thickness_mm >= pair[0].spacing_mm:
            raise InputError(f"{where}: thickness_mm runs along the wall: it must be below the studs' spacing_mm")
        if pair is None:
            raise InputError(f"{where}: needs a vertical frame on both sides of the gap")
        one, two = pair
        if one.fraction is not None or two.fraction is not None:
            raise InputError(
                f"{where}: the frames are given by fraction, so their studs have no line; give width_mm and spacing_mm"
            )
        if one.spacing_mm != two.spacing_mm or (one.offset_mm - two.offset_mm) % one.spacing_mm:
            raise InputError(
                f"{where}: staggered studs can't take straight ties; line the frames up or leave the tie out"
            )


def _check_corrections(wall: BuildUp, place: str) -> None:
    """Every layer that the corrections name is there."""
    given = wall.corrections
    named = [each.layer for each in given.fastener]
    if given.air_gap_layer is not None:
        named.append(given.air_gap_layer)
    for layer in named:
        try:
            wall.index_of(layer)
        except InputError as error:
            raise InputError(f"{place}: {str(error).removeprefix(f'{wall.name}: ')}") from None


def tie_frames(layers: tuple[Layer, ...], number: int) -> tuple[Frame, Frame] | None:
    """The nearest vertical frames outside and inside of layer `number` (a gap)."""
    outer = [
        layer.frame
        for layer in layers[:number]
        if layer.frame and layer.frame.axis == "vertical" and layer.role != VENTILATED_SPACE
    ]
    inner = [layer.frame for layer in layers[number + 1 :] if layer.frame and layer.frame.axis == "vertical"]
    return (outer[-1], inner[0]) if outer and inner else None


def to_toml(wall: BuildUp, catalogue: Catalogue) -> str:
    """The build-up as a file; materials that differ from the catalogue are written into it."""
    out: dict[str, Any] = {"name": wall.name, "element": wall.element, "outside": wall.outside}
    inline = {}
    for key, material in wall.materials.items():
        table = wall.own_tables.get(key, {})
        like = table.get("like") in catalogue.materials and table["like"] not in catalogue.own
        if like and own_material(key, table, catalogue, key) == material:
            inline[key] = table  # what it is like goes on to be told
        elif catalogue.materials.get(key) != material or key in catalogue.own:
            inline[key] = _plain(
                material.model_dump(exclude_none=True, exclude_defaults=True, exclude={"key", "sources"})
            )
    if inline:
        out["materials"] = inline
    out["layer"] = [_plain(layer.model_dump(exclude_none=True, exclude_defaults=True)) for layer in wall.layers]
    for name in ("conditions", "loads", "corrections", "framing"):
        part = getattr(wall, name)
        left = {"exclude_unset": True} if name == "conditions" else {"exclude_defaults": True}
        values = part and _plain(part.model_dump(exclude_none=True, **left))
        if values or (name == "loads" and part):
            out[name] = values
    return tomli_w.dumps(out)


def _plain(value: Any) -> Any:
    """Tuples to lists, floats without noise from unit conversion."""
    if isinstance(value, dict):
        return {key: _plain(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(each) for each in value]
    return round(value, 10) if isinstance(value, float) else value
