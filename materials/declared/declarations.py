"""Environmental declarations (EN 15804) in the open ILCD+EPD exchange format -> carbon per kg of products.

XML, JSON (the extended view) and ZIP archives. A declaration belongs to the products whose `declaration_key` is its
UUID or the stem of its file's name.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import NamedTuple

from ..catalogue import Catalogue
from ..errors import InputError, first_of, nearest
from ..models import Product
from .basis import CarbonBasis, carbon_basis
from .data_set import Flow, Process
from .declaration_files import SUFFIXES, documents, read_file
from .declaration_reader import check_scenarios, declared, processes, scenario_names
from .declaration_record import DeclaredProduct, DeclaredUnit, ModuleValues
from .not_used import NotUsed
from .products import balances, biogenic_balance, for_product, left_out
from .writing import write_declaration

__all__ = [
    "CarbonBasis",
    "DeclaredProduct",
    "DeclaredUnit",
    "Matched",
    "ModuleValues",
    "balances",
    "biogenic_balance",
    "carbon_basis",
    "demo_declarations",
    "for_product",
    "left_out",
    "load_declarations",
    "read_declarations",
    "write_declaration",
]

DEMO = "demo:"
SHOWN = 5  # products that a note names before it says "and 12 more"


class Matched(NamedTuple):
    """Products with their declarations, what was not as asked, the sha256 of each file by its name, what is unused."""

    products: list[Product]
    notes: tuple[str, ...]
    digests: dict[str, str]
    not_used: tuple[NotUsed, ...] = ()


@dataclass(frozen=True)
class _Read:
    """One file: its stem, digest, and the data sets in it."""

    name: str
    stem: str
    digest: str
    data_sets: list[tuple[Process, Flow | None]]


def read_declarations(path: Path | str, scenario: str | Collection[str] = ()) -> tuple[DeclaredProduct, ...]:
    """Every declaration of a file (.xml, .json, .zip), as it states it, per declared unit.

    `scenario` names what to read where a module has several and the file's default is not meant, or there is none.
    InputError with file and place for anything that cannot be read.
    """
    read = _read(str(path), Path(path))
    wanted = _names(scenario)
    known = {name for process, _ in read.data_sets for name in scenario_names(process)}
    check_scenarios(wanted, known, str(path))
    return tuple(declared(process, flow, wanted) for process, flow in read.data_sets)


def load_declarations(
    names: Iterable[str],
    folder: Path | str,
    products: Sequence[Product],
    catalogue: Catalogue,
    *,
    on: date,
    allow_lapsed: bool = False,
    scenario: str | Collection[str] = (),
) -> Matched:
    """Products with the declarations that they name, from files beside a brief; the others as they came.

    `names`: paths relative to `folder`, or "demo:NAME" for one of the demo; `on`: the day on which they must be valid.
    A product keeps what it had, and a note says so, where its declaration is in no file or has lapsed (unless
    `allow_lapsed`). InputError with every fault: files that can't be read, the same key twice, values that can't be
    converted to a kg of the product.
    """
    files = _read_all(list(names), Path(folder))
    wanted = _names(scenario)
    known = {name for file in files for process, _ in file.data_sets for name in scenario_names(process)}
    check_scenarios(wanted, known, "declarations")
    by_key = _by_key(files, wanted)
    faults: list[str] = []
    notes: list[str] = []
    not_used: list[NotUsed] = []
    matched: dict[str, Product] = {}
    for key, users in _users(products).items():
        epd = by_key.get(key.lower())
        if epd is None:
            notes.append(f'declaration "{key}" is in no file{nearest(key, by_key)}: {_shown(users)} {_instead(users)}')
            not_used.append(
                NotUsed(key, f"in none of the files{nearest(key, by_key)}; {_shown(users)} {_instead(users)}")
            )
        elif epd.lapsed(on) and not allow_lapsed:
            until = epd.valid_until.isoformat() if epd.valid_until else ""
            notes.append(f'declaration "{epd.name}" lapsed on {until}: {_shown(users)} {_instead(users)}')
            not_used.append(NotUsed(epd.name, f"lapsed {until}; {_shown(users)} {_instead(users)}"))
        else:
            matched |= _with_declaration(epd, users, catalogue, faults)
            notes += _remarks(epd, [matched[each.key] for each in users if each.key in matched], on)
            if any(each.key in matched for each in users) and (whole := left_out(epd)):
                not_used.append(
                    NotUsed(epd.name, f"of {', '.join(whole)} a total alone, its biogenic carbon not known")
                )
    if faults:
        raise InputError("\n".join(first_of(faults)))
    used = {key.lower() for key in _users(products)}
    unused = _unused(files, used)
    notes += [f"{name}: no product names this declaration" for name in unused]
    not_used += [NotUsed(name, "named by no product on the lists") for name in unused]
    digests = {file.name: file.digest for file in files}
    return Matched([matched.get(each.key, each) for each in products], tuple(notes), digests, tuple(not_used))


def demo_declarations() -> list[str]:
    """Names of the declarations shipped for the demo, as `load_declarations` takes them."""
    return sorted(DEMO + entry.name for entry in _demo_folder().iterdir() if entry.name.lower().endswith(SUFFIXES))


def _demo_folder() -> Traversable:
    return resources.files("materials") / "data" / "demo"


def _names(scenario: str | Collection[str]) -> tuple[str, ...]:
    return (scenario,) if isinstance(scenario, str) else tuple(scenario)


def _read(name: str, path: Path) -> _Read:
    data = read_file(path)
    data_sets = processes(documents(path, data))
    if not data_sets:
        raise InputError(f"{path}: no process data set of ILCD+EPD in it")
    return _Read(name, path.stem, hashlib.sha256(data).hexdigest(), data_sets)


def _read_all(names: list[str], folder: Path) -> list[_Read]:
    files: list[_Read] = []
    faults: list[str] = []
    for name in names:
        if names.count(name) > 1:
            raise InputError(f'declaration "{name}" is named twice')
        try:
            files.append(_read_named(name, folder))
        except InputError as error:
            faults.append(str(error))
    if faults:
        raise InputError("\n".join(first_of(faults)))
    return files


def _read_named(name: str, folder: Path) -> _Read:
    if not name.startswith(DEMO):
        return _read(name, folder / name)
    if name not in demo_declarations():
        raise InputError(f'declaration "{name}" is not among those of the demo{nearest(name, demo_declarations())}')
    with resources.as_file(_demo_folder() / name.removeprefix(DEMO)) as path:
        return _read(name, path)


def _by_key(files: list[_Read], wanted: tuple[str, ...]) -> dict[str, DeclaredProduct]:
    """Declarations by UUID, and by the stem of their file where it holds one alone; a key twice is refused."""
    by_key: dict[str, DeclaredProduct] = {}
    owners: dict[str, str] = {}
    for file in files:
        for process, flow in file.data_sets:
            epd = declared(process, flow, wanted)
            stem = {file.stem.lower()} if len(file.data_sets) == 1 else set()
            for key in {epd.key} | stem:
                if key in owners:
                    raise InputError(f'{file.name}: declaration "{key}" stands in {owners[key]} too; expected one')
                owners[key] = file.name
                by_key[key] = epd
    return by_key


def _users(products: Sequence[Product]) -> dict[str, list[Product]]:
    """Products by the declaration that they name."""
    users: dict[str, list[Product]] = {}
    for each in products:
        if each.declaration_key:
            users.setdefault(each.declaration_key, []).append(each)
    return users


def _with_declaration(
    epd: DeclaredProduct, users: list[Product], catalogue: Catalogue, faults: list[str]
) -> Mapping[str, Product]:
    """The products with the declaration in kg; what can't be converted is added to the faults."""
    done = {}
    for product in users:
        try:
            declaration = for_product(epd, catalogue.get(product.material), product)
        except InputError as error:
            faults.append(f"{product.key}: {error}")
        else:
            done[product.key] = product.model_copy(update={"declaration": declaration})
    return done


def _remarks(epd: DeclaredProduct, users: list[Product], on: date) -> list[str]:
    """What somebody should know of a declaration that is used all the same."""
    notes = []
    if not users:
        return notes
    if epd.lapsed(on) and epd.valid_until:
        notes.append(f'declaration "{epd.name}" lapsed on {epd.valid_until.isoformat()} and is used all the same')
    unsplit = left_out(epd)
    if unsplit:
        notes.append(
            f'declaration "{epd.name}": {", ".join(unsplit)} state a total alone and are left out, '
            "since their biogenic carbon is not known"
        )
    if len({each.declaration.fossil_kgco2e_kg for each in users if each.declaration}) > 1:
        notes.append(
            f'declaration "{epd.name}": per {epd.unit.words if epd.unit else ""} without a size of its own, '
            f"taken for the size of each of {_shown(users)}"
        )
    declaration = users[0].declaration
    if declaration is not None and not balances(declaration):
        notes.append(
            f'declaration "{epd.name}": biogenic carbon does not balance, '
            f"{biogenic_balance(declaration):+.3g} kg CO2 per kg are left over A to C"
        )
    return notes


def _unused(files: list[_Read], used: set[str]) -> list[str]:
    """The files of which no product names a declaration."""
    keys = {file.name: {process.key for process, _ in file.data_sets} | {file.stem.lower()} for file in files}
    return [name for name, held in keys.items() if not held & used]


def _shown(users: list[Product]) -> str:
    keys = ", ".join(each.key for each in users[:SHOWN])
    return keys if len(users) <= SHOWN else f"{keys} and {len(users) - SHOWN} more"


def _instead(users: list[Product]) -> str:
    """What stands in the place of a declaration that is not used."""
    listed = sum(each.declaration is not None for each in users)
    keep = "keeps" if len(users) == 1 else "keep"
    if listed == len(users):
        return f"{keep} the values of the price list"
    return f"{keep} the generic values" + (" or those of the price list" if listed else "")
