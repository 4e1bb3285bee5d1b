"""The shipped catalogue: every material of `data/*.toml`, each number with its source.

A number without a source, an unknown source or an unknown key is refused with file, material and key; so is carbon
stored in solid wood that is not what the standard it names gives.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Literal

from pydantic import BaseModel, Field, ValidationError

from .errors import Checked, InputError, explain, keys, nearest, parse_toml
from .models import Kind, Material
from .wood_carbon import IN_USE_PERCENT, biogenic_carbon

SOURCES_FILE = "sources.toml"
FACTORS_FILE = "carbon.toml"  # no materials: carriage, end of life and heat sources, read by `factors.py`
WORKED_OUT = "en-16449"  # the source of carbon stored in solid wood: a formula, and so held to it
ROUNDED = 0.005  # kg CO2 per kg; the catalogue gives two decimals


class Source(Checked):
    """Where numbers come from, and how far they can be trusted (`kind`)."""

    key: str
    title: str
    kind: Literal[
        "published standard",
        "published table",
        "declaration",
        "supplier's list",
        "common practice",
        "from memory",
        "invented for the demo",
        "generic",
    ]
    note: str | None = None
    holds: tuple[str, ...] = ()  # keys whose values it can hold; any where empty
    never: dict[str, tuple[Kind, ...]] = Field(
        default_factory=dict
    )  # key -> kinds of material of which it holds no such value

    def refuses(self, key: str, kind: str | None) -> str:
        """Why it cannot be the source of a value of a kind of material; '' where it can."""
        if self.holds and key not in self.holds:
            return f"it holds {', '.join(self.holds)}"
        return f"it holds none of a {kind}" if kind in self.never.get(key, ()) else ""


@dataclass(frozen=True, eq=False)
class Catalogue:
    """All materials and sources by key; `digest` is the sha256 of the files they were read from.

    own: the keys of those that a brief adds of its own.
    """

    materials: Mapping[str, Material]
    sources: Mapping[str, Source]
    digest: str
    own: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        object.__setattr__(self, "materials", MappingProxyType(dict(self.materials)))
        object.__setattr__(self, "sources", MappingProxyType(dict(self.sources)))

    def __reduce__(self) -> tuple:
        # Read-only views can't be pickled, and searches send the catalogue to worker processes.
        return Catalogue, (dict(self.materials), dict(self.sources), self.digest, self.own)

    def extended(self, own: Mapping[str, Material]) -> Catalogue:
        """The catalogue with materials of one's own, which go before those of the same key."""
        return Catalogue({**self.materials, **own}, self.sources, self.digest, frozenset(own)) if own else self

    def get(self, key: str) -> Material:
        """The material called `key`; InputError with the nearest key when there is none."""
        try:
            return self.materials[key]
        except (KeyError, TypeError):
            raise InputError(f"material {key!r} is not in the catalogue{nearest(key, self.materials)}") from None

    def for_use(self, use: str) -> tuple[Material, ...]:
        """The materials that may be used in that place of a wall, in the catalogue's order."""
        return tuple(m for m in self.materials.values() if use in m.uses)


@cache
def load_catalogue() -> Catalogue:
    """The catalogue shipped with the package; read once."""
    folder = resources.files(__package__) / "data"
    names = sorted(entry.name for entry in folder.iterdir() if entry.name.endswith(".toml"))
    return read_catalogue({name: (folder / name).read_text(encoding="utf-8") for name in names})


def read_catalogue(texts: Mapping[str, str]) -> Catalogue:
    """Build a catalogue from TOML texts by file name, `sources.toml` among them.

    InputError carries a line per fault: file, material, key, expected.
    """
    if SOURCES_FILE not in texts:
        raise InputError(f"{SOURCES_FILE} is missing: every number needs a source")
    sources = read_sources(texts[SOURCES_FILE])
    materials: dict[str, Material] = {}
    faults: list[str] = []
    for file, text in sorted(texts.items()):
        if file in (SOURCES_FILE, FACTORS_FILE):
            continue
        for key, table in parse_toml(text, file).items():
            try:
                if key in materials:
                    raise InputError(f"{file}: {key}: this material key stands twice in the catalogue")
                materials[key] = _read_material(file, key, table, sources)
            except InputError as error:
                faults.append(str(error))
    if faults:
        raise InputError("\n".join(faults))
    return Catalogue(materials, sources, _digest(texts))


def _digest(texts: Mapping[str, str]) -> str:
    total = hashlib.sha256()
    for file, text in sorted(texts.items()):
        # Line ends differ between check-outs of one and the same catalogue.
        total.update(f"{file}\n{text}\n".replace("\r\n", "\n").encode())
    return total.hexdigest()


def read_sources(text: str) -> dict[str, Source]:
    """The sources by key; InputError names the faulty one."""
    sources = {}
    for key, table in parse_toml(text, SOURCES_FILE).items():
        if not isinstance(table, dict):
            raise InputError(f"{SOURCES_FILE}: {key}: expected a table with title and kind")
        try:
            sources[key] = Source(**{**table, "key": key})
        except ValidationError as error:
            raise explain(error, f"{SOURCES_FILE}: {key}") from None
    return sources


def _read_material(file: str, key: str, table: object, sources: Mapping[str, Source]) -> Material:
    place = f"{file}: {key}"
    if not isinstance(table, dict):
        raise InputError(f"{place}: expected a table, [{key}]")
    try:
        material = Material.model_validate({**table, "key": key})
    except ValidationError as error:
        raise explain(error, place) from None
    faults = source_faults(place, table, sources, Material) + _stored_faults(place, material)
    if faults:
        raise InputError("\n".join(faults))
    return material


def _stored_faults(place: str, material: Material) -> list[str]:
    """What is wrong with the carbon stored in solid wood, where its source is the formula for it."""
    stored = material.biogenic_kgco2e_kg
    if stored is None or material.sources.get("biogenic_kgco2e_kg") != WORKED_OUT:
        return []
    expected = -biogenic_carbon(1.0, IN_USE_PERCENT)  # per kg, whatever the density
    if abs(stored - expected) <= ROUNDED:
        return []
    return [
        f"{place}, biogenic_kgco2e_kg = {stored:g}: expected {expected:.2f}, as EN 16449 gives it for wood at "
        f"{IN_USE_PERCENT:g} % moisture, or another source"
    ]


def source_faults(place: str, table: dict, sources: Mapping[str, Source], record: type[BaseModel]) -> list[str]:
    """What is wrong with the sources of a table, a line each: a number without one, an unknown one, one of nothing."""
    given: dict[str, str] = table.get("sources", {})
    faults = [
        f"{place}, {name} = {table[name]!r}: has no source; name one under sources.{name}"
        for name in numeric_keys(table)
        if name not in given
    ]
    for name, source in given.items():
        if source not in sources:
            hint = nearest(source, sources)
            faults.append(f"{place}, sources.{name} = {source!r}: is not in {SOURCES_FILE}{hint}")
        if name not in table:
            hint = nearest(name, numeric_keys(table) or keys(record))
            faults.append(f"{place}, sources.{name}: it has no such key{hint}")
        elif source in sources and (why := sources[source].refuses(name, table.get("kind"))):
            faults.append(f"{place}, sources.{name} = {source!r}: expected a source that can hold this value; {why}")
    return faults


def numeric_keys(table: Mapping[str, object]) -> list[str]:
    """The keys of a material's table that carry numbers, and so need a source."""
    return [name for name, value in table.items() if _carries_number(name, value)]


def _carries_number(name: str, value: object) -> bool:
    if name in ("density_by_depth", "conversion"):
        return True
    return isinstance(value, int | float) and not isinstance(value, bool)
