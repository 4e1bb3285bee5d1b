"""What a row of a list says of vapour and of the mass of a membrane."""

from __future__ import annotations

from ..models import Material
from .list_row import ListRow

MU_RANGE = (1.0, 1e6)
SD_RANGE_M = (0.001, 5000.0)
MASS_RANGE_KG_M2 = (0.02, 5.0)
FLAT = ("membrane", "board", "insulating board")  # kinds that have an sd of their own, facings included
VARIABLE = ("sd_m_dry", "sd_m_humid")


def vapour_of(row: ListRow, material: Material | None) -> dict[str, float | None]:
    """mu, or sd [m], or sd in dry and in humid air [m]; mass [kg/m2] of a membrane."""
    names = ("vapour_mu", "sd_m", *VARIABLE, "mass_kg_m2")
    if not any(row.text(name) for name in names):
        return {}
    values = {
        "vapour_mu": row.number("vapour_mu", *MU_RANGE, ""),
        **{name: row.number(name, *SD_RANGE_M, "m") for name in ("sd_m", *VARIABLE)},
        "mass_kg_m2": row.number("mass_kg_m2", *MASS_RANGE_KG_M2, "kg/m2"),
    }
    given = [name for name in names[:4] if row.text(name)]
    kind = material.kind if material else None
    for name in given if material else ():
        if kind == "fixing":
            row.fault(name, "no value: a fixing has no vapour resistance")
        elif name == "vapour_mu" and kind == "membrane":
            row.fault(name, "no value: a membrane is known by its sd_m")
        elif name != "vapour_mu" and kind not in FLAT:
            row.fault(name, f"no value: {kind} is known by its vapour_mu, whatever its thickness")
    if material and kind != "membrane" and row.text("mass_kg_m2"):
        row.fault("mass_kg_m2", f"no value: {kind} is weighed by its density")
    if len(given) > 1 and given != list(VARIABLE):
        row.fault(given[0], "one of vapour_mu, sd_m, or sd_m_dry with sd_m_humid")
    elif given in (["sd_m_dry"], ["sd_m_humid"]):
        other = VARIABLE[1 - VARIABLE.index(given[0])]
        row.fault(other, f"a number in m, as {given[0]} is given")
    elif None not in (dry := values["sd_m_dry"], humid := values["sd_m_humid"]) and humid > dry:
        row.fault("sd_m_humid", f"at most sd_m_dry = {dry:g}: are the two in swapped order?")
    return values
