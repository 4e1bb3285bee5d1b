"""From a build-up to conduction through its repeating cell (ISO 10211), and back to the wall's figures.

What is solved is the geometry that the combined method of ISO 6946 counts: layers without a well-ventilated space and
what lies outside it; air layers as a material of their resistance; membranes as nothing; ties on the line of the studs,
across the gap alone (what overlaps the studs is material, as everywhere else); ties and battens that stand at heights
without a common measure meet alike everywhere. Plates, noggings and what else a frame counts besides its studs
(`extra_fraction`) are no part of the repeating cell: `storey.py` encloses what they add,

    U_cell + added, low + dU  <=  U  <=  U_cell + added, high + dU

and what is told is the middle, with half of that and the cell's own error beside it.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from materials.errors import InputError

from ..batch import WallBatch
from ..heat import steady
from ..heat.air_layers import ventilated_share
from ..wall import scores
from ..wall.assemble import batch_of, last_vented, parts_of
from ..wall.buildup import BuildUp, tie_frames
from ..wall.climate import surface_r
from .cell import CellTooLarge, Crossing, MemberRow, Slab, Wall
from .storey import Added, added_timber
from .wall import Conduction, in_plan, in_space, psi_words

THINNEST = 0.001  # m: what a layer that resists but has no thickness is drawn with
LEAST_RESISTANCE = 1e-3  # m2K/W of all layers together; less is a slip of the input


@dataclass(frozen=True)
class NumericHeat:
    """Heat through one wall by conduction through its cell. U in W/m2K."""

    u_value: float  # extras and corrections included, to compare with that of the combined method
    u_error: float  # at most, for the wall as given: half of what timber without a place leaves open, and of the grids
    u_cell: float  # of the repeating cell
    u_unbridged: float  # without any member
    u_extra: float  # what plates, noggings and openings add: the middle of its limits
    u_extra_error: float  # half of their distance
    placed: bool  # every timber has a place, so that the figures are those of the wall as drawn
    correction: float  # of ISO 6946
    f_rsi: float  # lowest temperature factor of the inside surface of the cell
    f_rsi_error: float  # at most about
    f_rsi_moisture: float  # with the surface resistance of moisture calculations, 0.25 m2K/W unless the wall says other
    f_rsi_moisture_error: float
    chi_w_k: float | None  # of a tie
    psi_w_mk: float | None  # of a stud
    psi_counts: str | None  # what that takes together, in words
    shares: dict[str, float]  # part of the heat through every material, by layer
    balance: float  # of heat in and out, relative
    conduction: Conduction = field(repr=False)  # fields and grids

    def as_json(self) -> dict:
        """The object `numeric` of `check --json`."""
        keys = ("u_value", "u_error", "u_cell", "u_unbridged", "u_extra", "u_extra_error", "placed", "correction")
        keys += (
            "f_rsi",
            "f_rsi_error",
            "f_rsi_moisture",
            "f_rsi_moisture_error",
            "chi_w_k",
            "psi_w_mk",
            "psi_counts",
            "shares",
        )
        return {key: getattr(self, key) for key in keys}

    def coldest_c(self, inside: float, outside: float) -> float:
        """The lowest inside surface temperature [degrees C] between airs of these temperatures."""
        return outside + self.f_rsi * (inside - outside)


def numeric_heat(
    wall: BuildUp, batch: WallBatch | None = None, tolerance: float | None = None, plan: bool = False
) -> NumericHeat:
    """Solve one wall.

    batch: of this wall, as `assemble` gives it, where it is at hand. tolerance: relative, of U; 0.1 % in two dimensions
    and 0.5 % in three where it is None. plan: by plane sections alone, which enclose ties and crossing battens.
    InputError where a frame is given by fraction, where members have no common cell, or where a layer has no value.
    """
    batch = batch_of(wall, parts_of(wall)) if batch is None else batch
    _check(wall, batch)
    share = float(ventilated_share(batch.slight.opening[0])) if batch.slight else 0.0
    still = _solved(wall, batch, tolerance, plan) if share < 1 else None
    open_to_air = _solved(wall, steady.as_well_ventilated(batch), tolerance, plan) if share > 0 else None
    first = still or open_to_air
    solutions = [each for each in (still, open_to_air) if each]
    weights = [each for each in (1 - share, share) if each > 0]
    bare = _mixed_resistance([each.cell.u_value + each.extra.middle for each in solutions], weights)
    cell = _mixed_resistance([each.cell.u_value for each in solutions], weights)
    correction = float(scores.correction(wall.corrections, batch, wall.index_of)[0])
    damp = [each.cell.at_inside(surface_r(wall.conditions)) for each in solutions]
    return NumericHeat(
        u_value=bare + correction,
        u_error=max(each.cell.u_error + each.extra.half for each in solutions),
        u_cell=cell,
        u_unbridged=_mixed_resistance([each.cell.u_unbridged for each in solutions], weights),
        u_extra=bare - cell,
        u_extra_error=max(each.extra.half for each in solutions),
        placed=all(each.extra.placed for each in solutions),
        correction=correction,
        f_rsi=min(each.cell.f_rsi for each in solutions),
        f_rsi_error=max(each.cell.f_rsi_error for each in solutions),
        f_rsi_moisture=min(factor for factor, _ in damp),
        f_rsi_moisture_error=max(error for _, error in damp),
        chi_w_k=first.cell.chi,
        psi_w_mk=first.cell.psi,
        psi_counts=psi_words(slabs_of(wall, batch)),
        shares=first.cell.shares,
        balance=max(each.cell.balance for each in solutions),
        conduction=first.cell,
    )


def cell_of(wall: BuildUp) -> tuple[Wall, float, float]:
    """The slabs that conduct, outside to inside, with Rsi and Rse [m2K/W]; a slightly ventilated layer unventilated."""
    batch = batch_of(wall, parts_of(wall))
    _check(wall, batch)
    return slabs_of(wall, batch), float(batch.r_si[0]), float(batch.r_se[0])


@dataclass(frozen=True)
class _Solved:
    cell: Conduction
    extra: Added


def _solved(wall: BuildUp, batch: WallBatch, tolerance: float | None, plan: bool) -> _Solved:
    slabs, r_si, r_se = slabs_of(wall, batch), float(batch.r_si[0]), float(batch.r_se[0])
    if sum(slab.resistance for slab in slabs) < LEAST_RESISTANCE:
        raise InputError(f"{wall.name}: no layer resists heat, so there is nothing to solve")
    try:
        cell = (in_plan if plan else in_space)(slabs, r_si, r_se, tolerance)
    except CellTooLarge as error:
        raise InputError(f"{wall.name}: {error}: a numerical calculation needs members that line up again") from None
    return _Solved(cell, added_timber(wall, batch, slabs, crossings(wall, batch), tolerance))


def _mixed_resistance(u_values: list[float], weights: list[float]) -> float:
    """Resistances mix where a layer is slightly ventilated (ISO 6946)."""
    return 1.0 / sum(weight / u for weight, u in zip(weights, u_values, strict=True))


def _check(wall: BuildUp, batch: WallBatch) -> None:
    """The cell can be drawn."""
    vented = last_vented(wall)
    for number, layer in enumerate(wall.layers):
        if layer.frame and layer.frame.fraction is not None and number > vented:
            raise InputError(
                f"layer {number + 1} ({layer.role}): the frame is given by fraction, so its members stand nowhere; "
                "a numerical calculation needs width_mm and spacing_mm"
            )
    fractions = [fraction[0] for fraction, _, _ in steady.paths(batch)]
    if min(fractions) < -1e-12 or abs(sum(fractions) - 1) > 1e-9:
        raise InputError(f"{wall.name}: studs and extra_fraction together take more than the whole area")


def name_of(wall: BuildUp, number: int, member: bool = False) -> str:
    """What a layer, or its members, are called in `NumericHeat.shares`."""
    layer = wall.layers[number]
    words = f"{number + 1} {layer.role}"
    if not member:
        return words
    return f"{words}: " + ("tie" if layer.tie else "frame")


def slabs_of(wall: BuildUp, batch: WallBatch) -> Wall:
    """The layers of a batch of one that conduct, with their members where these stand."""
    lined = {batch.members[number].layer for line in batch.lines for number in line}
    slabs = []
    for number in range(len(wall.layers)):
        resistance = float(batch.resistance[0, number])
        thickness = float(batch.thickness[0, number]) or THINNEST
        member = batch.member_of(number) if number in lined else None
        if resistance <= 0:
            if member is not None and batch.thickness[0, number] > 0:
                raise InputError(
                    f"layer {number + 1} ({wall.layers[number].role}): what fills the frame resists nothing"
                )
            continue
        crossing = None
        if member is not None:
            if member.resistance[0] <= 0:
                raise InputError(f"layer {number + 1} ({wall.layers[number].role}): the members resist nothing")
            along, up = _rows(wall, number)
            crossing = Crossing(name_of(wall, number, True), thickness / float(member.resistance[0]), along, up)
        slabs.append(Slab(name_of(wall, number), thickness, thickness / resistance, crossing))
    return tuple(slabs)


def crossings(wall: BuildUp, batch: WallBatch) -> dict[str, int]:
    """What members across layers are called -> the position of their layer."""
    lined = {batch.members[number].layer for line in batch.lines for number in line}
    return {name_of(wall, number, True): number for number in sorted(lined)}


def _rows(wall: BuildUp, number: int) -> tuple[MemberRow | None, MemberRow | None]:
    """Where the members of a layer stand, along the wall and up the wall."""
    layer = wall.layers[number]
    if layer.tie is None:
        frame = layer.frame
        row = MemberRow(frame.width_mm / 1000, frame.spacing_mm / 1000, frame.offset_mm / 1000)
        return (row, None) if frame.axis == "vertical" else (None, row)
    tie, frame = layer.tie, tie_frames(wall.layers, number)[0]
    along = MemberRow(tie.thickness_mm / 1000, frame.spacing_mm / 1000, frame.offset_mm / 1000)
    whole = tie.height_mm >= tie.vertical_spacing_mm
    return along, None if whole else MemberRow(tie.height_mm / 1000, tie.vertical_spacing_mm / 1000)
