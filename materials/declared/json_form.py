"""Process data sets of ILCD+EPD in JSON -> their parts.

The extended view of the format carries the flow inside the reference exchange.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ..errors import InputError
from ..untrusted import shown
from . import data_set
from .data_set import DeclaredAmount, Flow, FlowProperty, Process, ReferenceFlow, Result
from .declaration_files import DeclarationFile


def is_process(document: DeclarationFile) -> bool:
    """Whether the document is a process data set: in the archive of a declaration others may lie beside it."""
    return "processInformation" in document.root


def process(document: DeclarationFile) -> Process:
    """The parts of a process data set; InputError with the place of what cannot be read."""
    root, top = document.root, f"{document.place}: "
    about = _object(root, "processInformation", top)
    at = f"{top}/processInformation/dataSetInformation"
    info = _object(about, "dataSetInformation", f"{top}/processInformation")
    key = data_set.uuid(info.get("UUID"), f"{at}/UUID")
    if key is None:
        raise InputError(f"{at}/UUID is missing; expected the UUID of the declaration")
    name = data_set.in_english(_languages(_object(info, "name", at), "baseName", f"{at}/name"))
    if not name:
        raise InputError(f"{at}/name/baseName is missing; expected the product's name")
    when = f"{top}/processInformation/time"
    time = _object(about, "time", f"{top}/processInformation")
    place = f"{top}/processInformation/geography"
    geography = _object(about, "geography", f"{top}/processInformation")
    location = _object(geography, "locationOfOperationSupplyOrProduction", place).get("location")
    return Process(
        place=document.place,
        key=key,
        name=name,
        comment=data_set.in_english(_languages(info, "generalComment", at)),
        valid_until=data_set.last_day(time.get("dataSetValidUntil"), f"{when}/dataSetValidUntil"),
        reference_year=data_set.year(time.get("referenceYear"), f"{when}/referenceYear"),
        region=data_set.words(location, 40) or None,
        reference=_reference(root, about, top),
        scenarios=_scenarios(info, at),
        results=_results(root, top),
    )


def _object(parent: dict[str, Any], name: str, at: str) -> dict[str, Any]:
    value = parent.get(name)
    if value is None:
        return {}
    if not isinstance(value, dict):
        raise InputError(f"{at}/{name}: {data_set.kind(value)}; expected an object")
    return value


def _objects(parent: dict[str, Any], name: str, at: str, limit: int) -> list[tuple[str, dict[str, Any]]]:
    """The objects of a list with their places; an object that stands for itself is a list of one."""
    value = parent.get(name)
    if value is None:
        return []
    objects = [value] if isinstance(value, dict) else value
    if not isinstance(objects, list):
        raise InputError(f"{at}/{name}: {data_set.kind(value)}; expected a list of objects")
    data_set.at_most(len(objects), limit, f"{at}/{name}", "entries")
    for i, each in enumerate(objects, 1):
        if not isinstance(each, dict):
            raise InputError(f"{at}/{name}[{i}]: {data_set.kind(each)}; expected an object")
    return [(f"{at}/{name}[{i}]", each) for i, each in enumerate(objects, 1)]


def _languages(parent: dict[str, Any], name: str, at: str) -> list[tuple[str | None, str]]:
    """Texts by language; a plain text is one of no stated language."""
    if isinstance(parent.get(name), str):
        return [(None, parent[name])]
    texts = []
    for place, each in _objects(parent, name, at, data_set.MAX_SCENARIOS):
        text, language = each.get("value"), each.get("lang")
        if not isinstance(text, str | None):
            raise InputError(f"{place}/value: {data_set.kind(text)}; expected text")
        texts.append((language if isinstance(language, str) else None, text or ""))
    return texts


def _names(reference: dict[str, Any], name: str, at: str) -> list[str]:
    return [text for _, text in _languages(reference, name, at)]


def _reference(root: dict[str, Any], about: dict[str, Any], top: str) -> ReferenceFlow | None:
    at = f"{top}/processInformation"
    wanted = _object(about, "quantitativeReference", at).get("referenceToReferenceFlow")
    numbers = {str(each) for each in (wanted if isinstance(wanted, list) else [wanted]) if isinstance(each, int | str)}
    exchanges = _objects(_object(root, "exchanges", top), "exchange", f"{top}/exchanges", data_set.MAX_RESULTS)
    references = [each for each in exchanges if each[1].get("referenceFlow") is True] or [
        each for each in exchanges if _scalar(each[1].get("dataSetInternalID")) in numbers
    ]
    if not references:
        return None
    if len(references) > 1:
        raise InputError(f"{top}/exchanges: {len(references)} reference flows; expected one")
    place, exchange = references[0]
    to_flow = _object(exchange, "referenceToFlowDataSet", place)
    mean = data_set.number(exchange.get("meanAmount"), f"{place}/meanAmount")
    amount = data_set.number(exchange.get("resultingAmount"), f"{place}/resultingAmount")
    spelt = "resultingFlowAmount" if "resultingFlowAmount" in exchange else "resultingflowAmount"
    return ReferenceFlow(
        place=place,
        flow_key=data_set.reference_id(to_flow.get("refObjectId")),
        flow_version=data_set.words(to_flow.get("version"), 20) or None,
        count=mean or amount,  # an empty 0.0 stands where there is none
        resulting=data_set.number(exchange.get(spelt), f"{place}/{spelt}") or None,
        flow=_flow(exchange, place),
    )


def _scalar(value: object) -> str | None:
    return str(value) if isinstance(value, int | str) and not isinstance(value, bool) else None


def _flow(exchange: dict[str, Any], place: str) -> Flow | None:
    entries = _objects(exchange, "flowProperties", place, data_set.MAX_RESULTS)
    if not entries:
        return None
    properties = tuple(_property(each, at) for at, each in entries)
    marked = [
        one for (_, each), one in zip(entries, properties, strict=True) if each.get("referenceFlowProperty") is True
    ]
    if len(marked) > 1:
        raise InputError(f"{place}/flowProperties: {len(marked)} marked as the reference; expected one")
    material: dict[str, float] = {}
    for at, each in _objects(exchange, "materialProperties", place, data_set.MAX_RESULTS):
        known = data_set.material_property(each.get("name"), each.get("value"), each.get("unit"), at)
        if known:
            material.setdefault(*known)
    reference = marked[0] if marked else properties[0] if len(properties) == 1 else None
    return Flow(place, None, None, reference, properties, material)


def _property(each: dict[str, Any], place: str) -> FlowProperty:
    names = _names(each, "name", place)
    means = data_set.quantity(data_set.reference_id(each.get("uuid")), names)
    data_set.check_reference_unit(means, each.get("referenceUnit"), f"{place}/referenceUnit")
    value = data_set.number(each.get("meanValue"), f"{place}/meanValue") if means else None
    return FlowProperty(place, means, data_set.words(names[0] if names else "", 60), value)


def _extras(parent: dict[str, Any], at: str) -> list[tuple[str, dict[str, Any]]]:
    """What the extension adds to an object: the list `anies` of its `other`. What is no object there says nothing."""
    entries = _object(parent, "other", at).get("anies")
    if entries is None:
        return []
    if not isinstance(entries, list):
        raise InputError(f"{at}/other/anies: {data_set.kind(entries)}; expected a list")
    data_set.at_most(len(entries), data_set.MAX_AMOUNTS, f"{at}/other/anies", "entries")
    return [(f"{at}/other/anies[{i}]", each) for i, each in enumerate(entries, 1) if isinstance(each, dict)]


def _scenarios(info: dict[str, Any], at: str) -> tuple[tuple[str, bool], ...]:
    """Scenarios declared: `scenario` lists, whether they stand in the entry itself or in its value."""
    scenarios = []
    for place, extra in _extras(info, at):
        for holder in (extra, extra.get("value"), extra.get("objectValue")):
            if isinstance(holder, dict) and isinstance(holder.get("scenario"), list | dict):
                scenarios += _objects(holder, "scenario", place, data_set.MAX_SCENARIOS)
    return tuple(
        (data_set.words(each.get("name"), 120), str(each.get("default")).lower() in ("true", "1"))
        for _, each in scenarios
    )


def _results(root: dict[str, Any], top: str) -> tuple[Result, ...]:
    named = "LCIAResults" if "LCIAResults" in root else "lciaResults"
    at = f"{top}/{named}"
    results = []
    for place, each in _objects(_object(root, named, top), "LCIAResult", at, data_set.MAX_RESULTS):
        method = _object(each, "referenceToLCIAMethodDataSet", place)
        key = data_set.reference_id(method.get("refObjectId"))
        of = data_set.indicator(key, _names(method, "shortDescription", f"{place}/referenceToLCIAMethodDataSet"))
        if of is not None:  # other indicators are no concern of ours, whatever stands in them
            extras = _extras(each, place)
            _check_unit(extras, place)
            results.append(Result(place, of, tuple(_amounts(extras))))
    return tuple(results)


def _check_unit(extras: list[tuple[str, dict[str, Any]]], place: str) -> None:
    for at, extra in extras:
        if extra.get("name") != "referenceToUnitGroupDataSet":
            continue
        for held in ("value", "objectValue"):
            group = extra.get(held)
            if isinstance(group, dict):
                key = data_set.reference_id(group.get("refObjectId"))
                data_set.check_unit(key, _names(group, "shortDescription", f"{at}/{held}"), place)


def _amounts(extras: list[tuple[str, dict[str, Any]]]) -> Iterator[DeclaredAmount]:
    """The values by module; `meanAmount` beside them is an empty 0.0 and is never read."""
    for place, extra in extras:
        if "module" not in extra:
            continue
        module, scenario = extra["module"], extra.get("scenario")
        if not isinstance(module, str):
            raise InputError(f"{place}/module: {data_set.kind(module)}; expected a module of EN 15804")
        if not isinstance(scenario, str | None):
            raise InputError(f"{place}/scenario: {shown(scenario)}; expected the name of a scenario")
        value = data_set.number(extra.get("value"), f"{place}/value")
        if value is not None:
            yield DeclaredAmount(
                data_set.module_name(module), data_set.words(scenario, 120) or None, value, f"{place}/value"
            )
