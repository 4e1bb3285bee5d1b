"""From a build-up to conduction through its repeating cell (ISO 10211), and back to the wall's figures.

What is solved is the geometry that the combined method of ISO 6946 counts: layers without a well-ventilated space and
what lies outside it; air layers as a material of their resistance; membranes as nothing; ties on the line of the studs,
across the gap alone (what overlaps the studs is material, as everywhere else); ties and battens that stand at heights
without a common measure meet alike everywhere. Plates, noggings and openings (`extra_fraction`) are no part of the
cell: as in the combined method they take area from the clear bay, and conduct side by side with the cell,

    U = U_cell + sum of e (U_plate - U_clear) + dU

U_plate: the layers with such an extra solid, U_clear: none of the line's members, battens crossing both as they do.
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
from .blocks import solve
from .cell import CellTooLarge, Crossing, MemberRow, Slab, Wall, area, repeating
from .wall import Conduction, in_plan, in_space

THINNEST = 0.001  # m: what a layer that resists but has no thickness is drawn with
LEAST_RESISTANCE = 1e-3  # m2K/W of all layers together; less is a slip of the input


@dataclass(frozen=True)
class NumericHeat:
    """Heat through one wall by conduction through its cell. U in W/m2K."""

    u_value: float  # extras and corrections included, to compare with that of the combined method
    u_error: float  # at most, for the geometry as given
    u_cell: float  # of the repeating cell
    u_unbridged: float  # without any member
    u_extra: float  # what plates, noggings and openings add
    correction: float  # of ISO 6946
    f_rsi: float  # lowest temperature factor of the inside surface of the cell
    f_rsi_moisture: float  # with the surface resistance of moisture calculations, 0.25 m2K/W unless the wall says other
    chi_w_k: float | None  # of a tie
    psi_w_mk: float | None  # of a stud
    shares: dict[str, float]  # part of the heat through every material, by layer
    balance: float  # of heat in and out, relative
    conduction: Conduction = field(repr=False)  # fields and grids

    def as_json(self) -> dict:
        """The object `numeric` of `check --json`."""
        keys = ("u_value", "u_error", "u_cell", "u_unbridged", "u_extra", "correction")
        keys += ("f_rsi", "f_rsi_moisture", "chi_w_k", "psi_w_mk", "shares")
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
    bare = _mixed_resistance([each.cell.u_value + each.extra for each in solutions], weights)
    cell = _mixed_resistance([each.cell.u_value for each in solutions], weights)
    correction = float(scores.correction(wall.corrections, batch, wall.index_of)[0])
    return NumericHeat(
        u_value=bare + correction,
        u_error=max(each.cell.u_error + each.extra_error for each in solutions),
        u_cell=cell,
        u_unbridged=_mixed_resistance([each.cell.u_unbridged for each in solutions], weights),
        u_extra=bare - cell,
        correction=correction,
        f_rsi=min(each.cell.f_rsi for each in solutions),
        f_rsi_moisture=min(each.cell.f_rsi_at(surface_r(wall.conditions)) for each in solutions),
        chi_w_k=first.cell.chi,
        psi_w_mk=first.cell.psi,
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
    extra: float
    extra_error: float


def _solved(wall: BuildUp, batch: WallBatch, tolerance: float | None, plan: bool) -> _Solved:
    slabs, r_si, r_se = slabs_of(wall, batch), float(batch.r_si[0]), float(batch.r_se[0])
    if sum(slab.resistance for slab in slabs) < LEAST_RESISTANCE:
        raise InputError(f"{wall.name}: no layer resists heat, so there is nothing to solve")
    try:
        cell = (in_plan if plan else in_space)(slabs, r_si, r_se, tolerance)
    except CellTooLarge as error:
        raise InputError(f"{wall.name}: {error}: a numerical calculation needs members that line up again") from None
    return _Solved(cell, *_extras(wall, batch, slabs, tolerance))


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


def _extras(wall: BuildUp, batch: WallBatch, slabs: Wall, tolerance: float | None) -> tuple[float, float]:
    """What plates, noggings and openings add to U, and its error [W/m2K]."""
    r_si, r_se = float(batch.r_si[0]), float(batch.r_se[0])
    total = error = 0.0
    for line in batch.lines:
        members = [batch.members[number] for number in line]
        steps = sorted({float(member.extra[0]) for member in members if member.extra[0] > 0})
        if not steps:
            continue
        names = {name_of(wall, member.layer, True): float(member.extra[0]) for member in members}
        clear = _u_of(tuple(_without(slab, names) for slab in slabs), r_si, r_se, tolerance)
        for below, step in zip([0.0, *steps[:-1]], steps, strict=True):
            plate = tuple(
                slab.solid() if slab.crossing and names.get(slab.crossing.name, 0.0) >= step else _without(slab, names)
                for slab in slabs
            )
            through = _u_of(plate, r_si, r_se, tolerance)
            total += (step - below) * (through[0] - clear[0])
            error += (step - below) * (through[1] + clear[1])
    return total, error


def _without(slab: Slab, names: dict[str, float]) -> Slab:
    return slab.bare() if slab.crossing and slab.crossing.name in names else slab


def _u_of(slabs: Wall, r_si: float, r_se: float, tolerance: float | None) -> tuple[float, float]:
    domain = repeating(slabs, r_si, r_se)
    solution = solve(domain, tolerance)
    u_value = solution.conductance / area(domain)
    return u_value, u_value * solution.error
