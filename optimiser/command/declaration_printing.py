"""What `wallfront prices` prints of a file of declarations that was read."""

from __future__ import annotations

import json
from datetime import date

from materials.declared.declared_file import DeclaredFile, Stated

from .wide import wide_console


def declared_file(read: DeclaredFile, as_json: bool = False) -> None:
    """Every declaration of a file: what it is of, per what, carbon by module, until when; and every fault."""
    today = date.today()
    if as_json:
        out = {
            "file": str(read.path),
            "on": today.isoformat(),
            "declarations": [_as_json(each, today) for each in read.stated],
            "faults": list(read.faults),
        }
        print(json.dumps(out, ensure_ascii=False))
        return
    counts = ((read.stated, "declaration"), (read.faults, "fault"))
    print(f"{read.path}: " + ", ".join(f"{len(each)} {word}{'' if len(each) == 1 else 's'}" for each, word in counts))
    for each in read.stated:
        _stated(each, today, read.path.stem if len(read.stated) + len(read.faults) == 1 else None)
    for fault in read.faults:
        print(fault)


def _stated(each: Stated, today: date, stem: str | None) -> None:
    from rich.table import Table

    epd = each.declared
    weighs = "" if each.mass_kg is None or epd.unit.unit == "kg" else f", which weighs {each.mass_kg:g} kg"
    until = "valid without a stated end"
    if epd.valid_until:
        until = f"{'lapsed on' if epd.lapsed(today) else 'valid until'} {epd.valid_until}"
    print(f"{epd.name}, {epd.standard}, per {epd.unit.words}{weighs}; {until}; region {epd.region or 'not stated'}")
    print(f"  products name it as {epd.key}" + (f" or {stem}" if stem else ""))
    table = Table(box=None, pad_edge=False, header_style="dim")
    table.add_column(f"  kgCO2e per {'kg' if each.mass_kg else epd.unit.words}")
    for head in ("fossil", "biogenic", "land use", "total"):
        table.add_column(head, justify="right")
    for name, carbon in each.carbon.items():
        values = (carbon.fossil, carbon.biogenic, carbon.land_use, carbon.total)
        scenario = epd.scenarios.get(name)
        table.add_row(f"  {name}" + (f" ({scenario})" if scenario else ""), *(f"{value:.3f}" for value in values))
    wide_console().print(table)
    if each.mass_kg is None:
        print("  how heavy that is the file does not say: density or size of the product will")
    if each.whole:
        print(f"  not used: {', '.join(each.whole)}, a total alone whose biogenic carbon is not known")


def _as_json(each: Stated, today: date) -> dict[str, object]:
    epd = each.declared
    return {
        "key": epd.key,
        "name": epd.name,
        "standard": epd.standard,
        "amount": epd.unit.amount,
        "unit": epd.unit.unit,
        "mass_kg": each.mass_kg,
        "per": "kg" if each.mass_kg else "declared unit",
        "carbon": {name: carbon.model_dump() for name, carbon in each.carbon.items()},
        "scenarios": dict(epd.scenarios),
        "not_used": list(each.whole),
        "valid_until": None if epd.valid_until is None else epd.valid_until.isoformat(),
        "lapsed": epd.lapsed(today),
        "region": epd.region,
    }
