"""Process and flow data sets of ILCD+EPD in XML -> their parts.

Elements are found by their local names: the extension's namespace differs between its versions and publishers.
"""

from __future__ import annotations

from collections.abc import Iterator
from xml.etree.ElementTree import Element

from ..errors import InputError
from ..untrusted import shown
from . import data_set
from .data_set import DeclaredAmount, Flow, FlowProperty, Process, ReferenceFlow, Result
from .declaration_files import DeclarationFile

LANGUAGE = "{http://www.w3.org/XML/1998/namespace}lang"
PROCESS = "processDataSet"
FLOW = "flowDataSet"


def kind_of(document: DeclarationFile) -> str:
    """The local name of the root element."""
    return _local(document.root.tag)


def process(document: DeclarationFile) -> Process:
    """The parts of a process data set; InputError with the place of what cannot be read."""
    root, top = document.root, f"{document.place}: /{PROCESS}"
    info = _path(root, "processInformation/dataSetInformation")
    at = f"{top}/processInformation/dataSetInformation"
    key = data_set.uuid(_text(_path(info, "UUID")), f"{at}/UUID")
    if key is None:
        raise InputError(f"{at}/UUID is missing; expected the UUID of the declaration")
    name = data_set.in_english(_languages(info, "name/baseName"))
    if not name:
        raise InputError(f"{at}/name/baseName is missing; expected the product's name")
    time, when = _path(root, "processInformation/time"), f"{top}/processInformation/time"
    location = _path(root, "processInformation/geography/locationOfOperationSupplyOrProduction")
    return Process(
        place=document.place,
        key=key,
        name=name,
        comment=data_set.in_english(_languages(info, "generalComment")),
        valid_until=data_set.last_day(_text(_path(time, "dataSetValidUntil")), f"{when}/dataSetValidUntil"),
        reference_year=data_set.year(_text(_path(time, "referenceYear")), f"{when}/referenceYear"),
        region=data_set.words(_attribute(location, "location"), 40) or None,
        reference=_reference(root, top),
        scenarios=_scenarios(info, at),
        results=_results(root, top),
    )


def flow(document: DeclarationFile) -> Flow:
    """The parts of a flow data set; InputError with the place of what cannot be read."""
    root, top = document.root, f"{document.place}: /{FLOW}"
    information = _path(root, "flowInformation/dataSetInformation")
    key = data_set.uuid(_text(_path(information, "UUID")), f"{top}/flowInformation/dataSetInformation/UUID")
    reference = _text(_path(root, "flowInformation/quantitativeReference/referenceToReferenceFlowProperty"))
    elements = _children(_path(root, "flowProperties"), "flowProperty")
    data_set.at_most(len(elements), data_set.MAX_RESULTS, f"{top}/flowProperties", "flow properties")
    properties = tuple(_property(each, f"{top}/flowProperties/flowProperty[{i}]") for i, each in enumerate(elements, 1))
    marked = [
        one
        for each, one in zip(elements, properties, strict=True)
        if _attribute(each, "dataSetInternalID") == reference
    ]
    version = _text(_path(root, "administrativeInformation/publicationAndOwnership/dataSetVersion"))
    return Flow(
        place=document.place,
        key=key,
        version=version.strip() or None,
        reference=marked[0] if reference and len(marked) == 1 else properties[0] if len(properties) == 1 else None,
        properties=properties,
        material=_material(information, f"{top}/flowInformation/dataSetInformation/other"),
    )


def _local(tag: object) -> str:
    return tag.rsplit("}", 1)[-1] if isinstance(tag, str) else ""


def _children(element: Element | None, name: str) -> list[Element]:
    return [] if element is None else [each for each in element if _local(each.tag) == name]


def _path(element: Element | None, path: str) -> Element | None:
    """The first element down a path of local names."""
    for name in path.split("/"):
        element = next(iter(_children(element, name)), None)
    return element


def _text(element: Element | None) -> str:
    return "" if element is None else element.text or ""


def _attribute(element: Element | None, name: str) -> str | None:
    """An attribute by its local name."""
    if element is None:
        return None
    return next((value for key, value in element.attrib.items() if _local(key) == name), None)


def _languages(element: Element | None, path: str) -> list[tuple[str | None, str]]:
    *way, last = path.split("/")
    parent = _path(element, "/".join(way)) if way else element
    return [(each.get(LANGUAGE), _text(each)) for each in _children(parent, last)]


def _descriptions(reference: Element | None) -> list[str]:
    return [_text(each) for each in _children(reference, "shortDescription")]


def _reference(root: Element, top: str) -> ReferenceFlow | None:
    wanted = _text(_path(root, "processInformation/quantitativeReference/referenceToReferenceFlow")).strip()
    exchanges = _children(_path(root, "exchanges"), "exchange")
    data_set.at_most(len(exchanges), data_set.MAX_RESULTS, f"{top}/exchanges", "exchanges")
    references = [(i, each) for i, each in enumerate(exchanges, 1) if _attribute(each, "dataSetInternalID") == wanted]
    if not wanted or not references:
        return None
    if len(references) > 1:
        raise InputError(
            f"{top}/exchanges: {len(references)} exchanges number {shown(wanted)}; expected one reference flow"
        )
    place, exchange = f"{top}/exchanges/exchange[{references[0][0]}]", references[0][1]
    to_flow = _path(exchange, "referenceToFlowDataSet")
    mean = data_set.number(_text(_path(exchange, "meanAmount")), f"{place}/meanAmount")
    resulting = data_set.number(_text(_path(exchange, "resultingAmount")), f"{place}/resultingAmount")
    return ReferenceFlow(
        place=place,
        flow_key=data_set.reference_id(_attribute(to_flow, "refObjectId")),
        flow_version=(_attribute(to_flow, "version") or "").strip() or None,
        count=mean or resulting,  # an empty 0.0 stands where there is none
    )


def _scenarios(info: Element | None, at: str) -> tuple[tuple[str, bool], ...]:
    scenarios = _children(_path(info, "other/scenarios"), "scenario")
    data_set.at_most(len(scenarios), data_set.MAX_SCENARIOS, f"{at}/other/scenarios", "scenarios")
    return tuple(
        (
            data_set.words(_attribute(each, "name"), 120),
            (_attribute(each, "default") or "").strip().lower() in ("true", "1"),
        )
        for each in scenarios
    )


def _results(root: Element, top: str) -> tuple[Result, ...]:
    elements = _children(_path(root, "LCIAResults"), "LCIAResult")
    data_set.at_most(len(elements), data_set.MAX_RESULTS, f"{top}/LCIAResults", "results")
    results = []
    for i, each in enumerate(elements, 1):
        method = _path(each, "referenceToLCIAMethodDataSet")
        of = data_set.indicator(data_set.reference_id(_attribute(method, "refObjectId")), _descriptions(method))
        if of is not None:  # other indicators are no concern of ours, whatever stands in them
            place = f"{top}/LCIAResults/LCIAResult[{i}]"
            group = _path(each, "other/referenceToUnitGroupDataSet")
            data_set.check_unit(data_set.reference_id(_attribute(group, "refObjectId")), _descriptions(group), place)
            results.append(Result(place, of, tuple(_amounts(each, place))))
    return tuple(results)


def _amounts(result: Element, place: str) -> Iterator[DeclaredAmount]:
    """The values by module; `meanAmount` beside them is an empty 0.0 and is never read."""
    amounts = _children(_path(result, "other"), "amount")
    data_set.at_most(len(amounts), data_set.MAX_AMOUNTS, f"{place}/other", "amounts")
    for i, each in enumerate(amounts, 1):
        at = f"{place}/other/amount[{i}]"
        value = data_set.number(_text(each), at)
        if value is not None:
            scenario = data_set.words(_attribute(each, "scenario"), 120) or None
            yield DeclaredAmount(data_set.module_name(_attribute(each, "module")), scenario, value, at)


def _property(element: Element, place: str) -> FlowProperty:
    reference = _path(element, "referenceToFlowPropertyDataSet")
    names = _descriptions(reference)
    means = data_set.quantity(data_set.reference_id(_attribute(reference, "refObjectId")), names)
    value = data_set.number(_text(_path(element, "meanValue")), f"{place}/meanValue") if means else None
    return FlowProperty(place, means, data_set.words(names[0] if names else "", 60), value)


def _material(information: Element | None, place: str) -> dict[str, float]:
    """Material properties of the embedded MatML: the name stands apart from the value, joined by an id."""
    properties: dict[str, float] = {}
    for document in _children(_path(information, "other"), "MatML_Doc"):
        details = {_attribute(each, "id"): each for each in _children(_path(document, "Metadata"), "PropertyDetails")}
        for material in _children(document, "Material"):
            for data in _children(_path(material, "BulkDetails"), "PropertyData"):
                of = details.get(_attribute(data, "property"))
                name, unit = _text(_path(of, "Name")), _attribute(_path(of, "Units"), "name")
                at = f"{place}/MatML_Doc/Material/BulkDetails/PropertyData"
                known = data_set.material_property(name, _text(_path(data, "Data")), unit, at)
                if known:
                    properties.setdefault(*known)
    return properties
