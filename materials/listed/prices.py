"""Supplier price lists (CSV, XLSX) -> products.

A list is read as a whole: every faulty cell is reported with file, sheet, row, column, value and what was expected.
A mapping beside the list (`list.toml` beside `list.csv`) says how a list of the supplier's own shape is to be read.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from importlib import resources
from importlib.resources.abc import Traversable
from os.path import lexists
from pathlib import Path

from ..catalogue import Catalogue
from ..errors import InputError, first_of, nearest
from ..models import Product
from .exchange import Exchange
from .mapping import MAX_BYTES, NO_MAPPING, read_mapping
from .reading_notes import notes_of
from .sheets import Fault, headed_sheets, products_of
from .supplier_files import SUFFIXES, read_bytes, read_sheets

DEMO = "demo:"

__all__ = ["Fault", "PriceList", "demo_lists", "load_price_lists", "mapping_beside", "parse_prices", "read_prices"]


@dataclass(frozen=True)
class PriceList:
    """What was read from one file: products of the good rows, faults of the others.

    digest: sha256 of the file, its mapping included; passed_over: sheets without price columns; mapping: the mapping's
    name, None without one; notes: how it was read, in words.
    """

    path: Path
    products: tuple[Product, ...]
    faults: tuple[Fault, ...]
    digest: str
    passed_over: tuple[str, ...] = ()
    mapping: str | None = None
    notes: tuple[str, ...] = ()


def mapping_beside(path: Path | str) -> Path:
    """Where the mapping of a list stands, whether or not there is one."""
    return Path(path).with_suffix(".toml")


def read_prices(path: Path | str, catalogue: Catalogue) -> PriceList:
    """Read a supplier's list. InputError when the file can't be read or lacks columns; else products and faults."""
    path = Path(path)
    data = read_bytes(path)
    beside = mapping_beside(path)
    mapping = read_bytes(beside, MAX_BYTES) if path.suffix.lower() in SUFFIXES and lexists(beside) else None
    return parse_prices(path, data, catalogue, mapping)


def parse_prices(path: Path | str, data: bytes, catalogue: Catalogue, mapping: bytes | None = None) -> PriceList:
    """A supplier's list from its bytes, as an upload brings them; `path` names it, and its suffix says what it is.

    mapping: the bytes of the TOML that belongs to it. InputError when the file can't be used at all.
    """
    path = Path(path)
    how = NO_MAPPING
    if mapping is not None:
        how = read_mapping(mapping, f"{mapping_beside(path)} (mapping of {path.name})", catalogue)
    raw = read_sheets(path, data, how.encoding, how.separator, how.skip_rows)
    sheets, passed_over = headed_sheets(path, raw, how)
    products, faults = products_of(path.name, sheets, catalogue, how)
    digest = _digest(data, mapping)
    name = mapping_beside(path).name if mapping is not None else None
    notes = notes_of(products, sheets, how)
    return PriceList(path, tuple(products), tuple(faults), digest, passed_over, name, notes)


def _digest(data: bytes, mapping: bytes | None) -> str:
    """sha256 of a list; of the digests of list and mapping where it has one."""
    digest = hashlib.sha256(data).hexdigest()
    if mapping is None:
        return digest
    return hashlib.sha256(f"{digest} {hashlib.sha256(mapping).hexdigest()}".encode()).hexdigest()


def load_price_lists(
    names: Iterable[str], folder: Path | str, catalogue: Catalogue, exchange: Exchange | None = None
) -> tuple[list[Product], dict[str, str]]:
    """Products of several lists, and each list's digest by name.

    A name is a path relative to `folder`, or "demo:NAME" for a list of the demo. InputError with the faults of all
    lists, product keys that stand in two lists, or more than one currency. exchange: prices of other currencies
    are told in its own; InputError for one without a rate.
    """
    products: list[Product] = []
    digests: dict[str, str] = {}
    faults: list[str] = []
    owners: dict[str, str] = {}
    for name in names:
        if name in digests:
            raise InputError(f"price list {name!r} is named twice")
        price_list = _read_named(name, Path(folder), catalogue)
        digests[name] = price_list.digest
        faults += [str(fault) for fault in price_list.faults]
        faults += _between_lists(name, price_list, products if exchange is None else [], owners)
        if exchange is None:
            products += price_list.products
            continue
        told = [exchange.of(each) for each in price_list.products]
        if None in told:
            faults.append(f"prices, lists: {name}: {exchange.missing(price_list.products[0].currency)}")
        products += [each for each in told if each is not None]
    if faults:
        raise InputError("\n".join(first_of(faults)))
    return products, digests


def demo_lists() -> list[str]:
    """Names of the price lists shipped for the demo, as `load_price_lists` takes them."""
    return sorted(DEMO + entry.name for entry in _demo_folder().iterdir() if entry.name.endswith((".csv", ".xlsx")))


def _demo_folder() -> Traversable:
    return resources.files("materials") / "data" / "demo"


def _read_named(name: str, folder: Path, catalogue: Catalogue) -> PriceList:
    if not name.startswith(DEMO):
        return read_prices(folder / name, catalogue)
    if name not in demo_lists():
        raise InputError(f"price list {name!r} is not among those of the demo{nearest(name, demo_lists())}")
    short = name.removeprefix(DEMO)
    beside = _demo_folder() / mapping_beside(short).name
    mapping = beside.read_bytes() if beside.is_file() else None
    return parse_prices(short, (_demo_folder() / short).read_bytes(), catalogue, mapping)


def _between_lists(name: str, price_list: PriceList, products: list[Product], owners: dict[str, str]) -> list[str]:
    """Faults that only show between lists; `owners` (product key -> list) is brought up to date."""
    faults = []
    for product in price_list.products:
        if product.key in owners:
            faults.append(f"{name}: product {product.key!r} stands in {owners[product.key]} too; expected one row each")
        owners.setdefault(product.key, name)
    if products and price_list.products and products[0].currency != price_list.products[0].currency:
        first, here = products[0].currency, price_list.products[0].currency
        faults.append(f"{name}: prices in {here}; expected {first}, the currency of the lists before it")
    return faults
