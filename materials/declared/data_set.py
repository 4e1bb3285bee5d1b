"""What the XML and the JSON of a declaration have in common: their parts, and how a word or number of them is read."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from ..errors import InputError
from ..untrusted import shown
from .declaration_record import (
    A1_NAMED,
    A2_NAMED,
    BIOGENIC_CARBON,
    FLOW_PROPERTIES,
    MATERIAL_PROPERTIES,
    METHODS,
    PACKAGING_CARBON,
    QUANTITIES,
    UNIT_GROUP_CO2E,
    Indicator,
)

MAX_RESULTS = 5_000  # exchanges, and results of the assessment
MAX_AMOUNTS = 2_000  # values of one result: modules times scenarios
MAX_SCENARIOS = 500
YEARS = (1990, 2150)
SMALLEST, LARGEST = 1e-30, 1e12  # of a number of a building product; what is made of such numbers stays finite
NOT_DECLARED = ("", "-", "nd", "mnd", "mnr", "nr", "na", "n/a")

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_UUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", re.ASCII)
_PRODUCT_STAGE = re.compile(r"A1(TO|-|–|\+|_|/)?(A2(-|\+|_|/)?)?A?3")


@dataclass(frozen=True)
class DeclaredAmount:
    """A value of one module under one scenario (None: under no named one)."""

    module: str
    scenario: str | None
    value: float
    place: str


@dataclass(frozen=True)
class Result:
    """An indicator of the impact assessment: its set and name, and its values."""

    place: str
    of: tuple[str, Indicator]
    amounts: tuple[DeclaredAmount, ...]


@dataclass(frozen=True)
class FlowProperty:
    """How much of a quantity one unit of the flow has; `means`: a declared unit, "carbon", "packaging carbon" or ""."""

    place: str
    means: str
    shown: str
    value: float | None


@dataclass(frozen=True)
class Flow:
    """The flow data set of the product: its quantities, which of them is the reference, and its material properties."""

    place: str
    key: str | None
    version: str | None
    reference: FlowProperty | None
    properties: tuple[FlowProperty, ...]
    material: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class ReferenceFlow:
    """The exchange that says what the values stand for: how many units of which flow.

    `resulting` is the number of declared units that the JSON of the format carries beside it.
    """

    place: str
    flow_key: str | None
    flow_version: str | None
    count: float | None
    resulting: float | None = None
    flow: Flow | None = None


@dataclass(frozen=True)
class Process:
    """The process data set of a declaration."""

    place: str
    key: str
    name: str
    comment: str
    valid_until: date | None
    reference_year: int | None
    region: str | None
    reference: ReferenceFlow | None
    scenarios: tuple[tuple[str, bool], ...]  # name, and whether it is the default of its group
    results: tuple[Result, ...]


def number(value: object, place: str) -> float | None:
    """A finite number; None where nothing is declared. InputError for anything else."""
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise InputError(f"{place}: {kind(value)}; expected a number")
    if isinstance(value, str):
        text = value.strip()
        if text.lower() in NOT_DECLARED:
            return None
        if not _NUMBER.fullmatch(text):
            raise InputError(f"{place}: '{shown(text)}'; expected a number with a point for the decimals")
        figure = float(text)
    else:
        try:
            figure = float(value)
        except OverflowError:
            raise InputError(f"{place}: an integer too large; expected a number") from None
    if not math.isfinite(figure) or abs(figure) > LARGEST:
        raise InputError(f"{place}: {shown(value)}; expected a number of at most {LARGEST:g}")
    return figure if abs(figure) >= SMALLEST else 0.0


def kind(value: object) -> str:
    """What a JSON value is, in words."""
    names = {dict: "an object", list: "a list", str: "text", bool: "a truth value", int: "a number", float: "a number"}
    return names.get(type(value), "nothing")


def uuid(value: object, place: str) -> str | None:
    """A UUID in small letters; None where there is none. InputError for anything else."""
    if value is None or (isinstance(value, str) and not value.strip()):
        return None
    key = value.strip().lower() if isinstance(value, str) else ""
    if not _UUID.fullmatch(key):
        raise InputError(f"{place}: '{shown(value)}'; expected a UUID")
    return key


def reference_id(value: object) -> str | None:
    """The UUID of a data set referred to; None where there is none that can be read."""
    key = value.strip().lower() if isinstance(value, str) else ""
    return key if _UUID.fullmatch(key) else None


def words(value: object, limit: int = 300) -> str:
    """Text on one line, printable and of bounded length."""
    text = value if isinstance(value, str) else ""
    return shown(" ".join(text[: 4 * limit].split()), limit)


def in_english(texts: Iterable[tuple[str | None, str]]) -> str:
    """The English one of several texts (language, text), otherwise the first that says something; '' for none."""
    by_language = [(language, words(text)) for language, text in texts if text and text.strip()]
    english = [text for language, text in by_language if (language or "").lower().split("-")[0] == "en"]
    return (english or [text for _, text in by_language] or [""])[0]


def module_name(value: object) -> str:
    """A module as EN 15804 writes it, whatever the file's spelling: "A1A3" and "a1 - a3" are "A1-A3"."""
    text = "".join(value[:40].upper().split()) if isinstance(value, str) else ""
    return "A1-A3" if _PRODUCT_STAGE.fullmatch(text) else text


def year(value: object, place: str) -> int | None:
    """A year; None where there is none. InputError for anything else."""
    if value is None or (isinstance(value, str) and not value.strip()):
        return None
    text = str(value).strip() if isinstance(value, str | int) and not isinstance(value, bool) else ""
    if not re.fullmatch(r"\d{4}", text, re.ASCII) or not YEARS[0] <= int(text) <= YEARS[1]:
        raise InputError(f"{place}: '{shown(value)}'; expected a year from {YEARS[0]} to {YEARS[1]}")
    return int(text)


def last_day(value: object, place: str) -> date | None:
    """The last day of the year, or the day itself, until which a declaration is valid."""
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d\d-\d\d(T.*)?", value.strip(), re.ASCII):
        try:
            return date.fromisoformat(value.strip()[:10])
        except ValueError:
            raise InputError(f"{place}: '{shown(value)}'; expected a year or a day, as 2029-12-31") from None
    last_year = year(value, place)
    return None if last_year is None else date(last_year, 12, 31)


def indicator(method: str | None, names: Iterable[str]) -> tuple[str, Indicator] | None:
    """Which indicator of climate change a result is: by the method's UUID, by its name only where it has none."""
    if method is not None:
        return METHODS.get(method)
    indicators = {each for each in (_by_name(name) for name in names) if each is not None}
    exact = {each for each in indicators if each[0] == A2_NAMED}  # a translation may be less exact
    indicators = exact or indicators
    return indicators.pop() if len(indicators) == 1 else None


def _by_name(name: str) -> tuple[str, Indicator] | None:
    text = name.lower()
    if not re.search(r"gwp|global warming|climate change|treibhauspoten[tz]ial", text):
        return None
    if re.search(r"ghg|iobc|incl|excl|without|ohne", text):  # other accounts of the same gases
        return None
    parts: set[Indicator] = set()
    for word, part in (("fossil", "fossil"), ("biogen", "biogenic"), ("luluc|land use|landnutz", "land_use")):
        if re.search(word, text):
            parts.add(part)
    if not parts:
        return (A2_NAMED, "total") if "total" in text or "gesamt" in text else (A1_NAMED, "total")
    return (A2_NAMED, parts.pop()) if len(parts) == 1 else None


def check_unit(group: str | None, names: Iterable[str], place: str) -> None:
    """InputError where a result says that it is in another unit than kg CO2e."""
    given = [name for name in names if name.strip()]
    if group == UNIT_GROUP_CO2E or not given:
        return
    if not any(re.match(r"kg\W*co(2|₂)", name.strip().lower()) for name in given):
        raise InputError(f"{place}: in '{shown(given[0])}'; expected kg CO2e")


def quantity(key: str | None, names: Iterable[str]) -> str:
    """What a flow property measures, by its UUID, by its name only where it has none; '' for one of no use here."""
    if key is not None:
        carbon = {BIOGENIC_CARBON: "carbon", PACKAGING_CARBON: "packaging carbon"}
        return FLOW_PROPERTIES.get(key) or carbon.get(key, "")
    for name in names:
        text = name.strip().lower()
        if text.startswith("carbon content (biogenic)"):
            return "packaging carbon" if "packaging" in text else "carbon"
        for unit, called in QUANTITIES.items():
            if text == called.lower() or (unit == "piece" and text.startswith("number of")):
                return unit
    return ""


def check_reference_unit(means: str, unit: object, place: str) -> None:
    """InputError where a file says that a quantity is in another unit than the format's."""
    spelt = {"kg": ("kg",), "m3": ("m3", "cbm"), "m2": ("m2", "qm", "sqm"), "m": ("m", "lfm")}.get(means)
    text = _plain_unit(unit)
    if spelt and text and text not in spelt:
        raise InputError(f"{place}: in '{shown(unit)}'; expected {means}")


def material_property(name: object, value: object, unit: object, place: str) -> tuple[str, float] | None:
    """A property of the material as (field of `DeclaredUnit`, value); None for one that is empty or of no use here."""
    known = MATERIAL_PROPERTIES.get(words(name).lower())
    figure = number(value, place) if known else None
    if known is None or figure is None or figure == 0:
        return None
    text = _plain_unit(unit)
    if known[1] and text and text not in known[1]:
        raise InputError(f"{place}: {words(name)} in '{shown(unit)}'; expected {known[1][0]}")
    if figure < 0:
        raise InputError(f"{place}: {words(name)} {figure:g}; expected a number above 0")
    return known[0], figure


def _plain_unit(unit: object) -> str:
    text = words(unit, 40).lower().replace(" ", "").replace("^", "")
    text = text.replace("²", "2").replace("³", "3")
    return "" if text in NOT_DECLARED else text


def at_most(count: int, limit: int, place: str, what: str) -> None:
    if count > limit:
        raise InputError(f"{place}: {count} {what}; expected at most {limit}")
