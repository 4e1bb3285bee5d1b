"""One file of declarations, read by itself: what each states, per kg where the file says how heavy its unit is."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from ..errors import InputError
from ..models import Module, ModuleCarbon
from .declaration_files import documents, read_file
from .declaration_reader import declared, processes
from .declaration_record import DeclaredProduct
from .products import mass_alone, split_modules


@dataclass(frozen=True)
class Stated:
    """A declaration that can be used.

    carbon: by module, per kg where `mass_kg` of the declared unit is known, else per declared unit [kgCO2e]; whole:
    modules with a total alone, whose biogenic share is unknown and which are not used.
    """

    declared: DeclaredProduct
    mass_kg: float | None
    carbon: dict[Module, ModuleCarbon]
    whole: tuple[Module, ...]


@dataclass(frozen=True)
class DeclaredFile:
    """What was read of a file: the declarations that can be used, and the faults of the others."""

    path: Path
    digest: str
    stated: tuple[Stated, ...]
    faults: tuple[str, ...]


def read_declared(path: Path | str) -> DeclaredFile:
    """Read a file of declarations (.xml, .json, .zip) without the products that it may belong to.

    InputError when the file can't be read or holds no declaration; what is wrong inside one stands in the faults.
    """
    path = Path(path)
    data = read_file(path)
    data_sets = processes(documents(path, data))
    if not data_sets:
        raise InputError(f"{path}: no process data set of ILCD+EPD in it")
    stated, faults = [], []
    for process, flow in data_sets:
        try:
            stated.append(_stated(declared(process, flow)))
        except InputError as error:
            faults.append(str(error) if str(path) in str(error) else f"{path}: {error}")
    return DeclaredFile(path, hashlib.sha256(data).hexdigest(), tuple(stated), tuple(faults))


def _stated(epd: DeclaredProduct) -> Stated:
    modules = split_modules(epd)
    mass = mass_alone(epd)
    per = mass or 1.0
    carbon = {
        name: ModuleCarbon(fossil=each.fossil / per, biogenic=each.biogenic / per, land_use=each.land_use / per)
        for name, each in modules.items()
    }
    return Stated(epd, mass, carbon, tuple(name for name in epd.modules if name not in modules))
