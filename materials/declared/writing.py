"""A declaration -> files of the ILCD+EPD format: XML, extended JSON, or a ZIP archive of process and flow data set."""

from __future__ import annotations

import io
import json
import os
import re
import tempfile
import uuid
import zipfile
from pathlib import Path
from typing import Any
from xml.etree import ElementTree
from xml.etree.ElementTree import Element, SubElement

from ..errors import InputError
from .declaration_record import (
    A1,
    A2_EF31,
    BIOGENIC_CARBON,
    FLOW_PROPERTIES,
    INDICATOR_NAMES,
    INDICATORS,
    MATERIAL_PROPERTIES,
    METHODS,
    PACKAGING_CARBON,
    QUANTITIES,
    UNIT_GROUP_CO2E,
    DeclaredProduct,
    DeclaredUnit,
)

REFERENCE = 0  # the internal number of the reference flow, and of the reference flow property
FORMAT_VERSION = "1.2"
VERSION = "00.01.000"  # of the data sets written
LONG_AGO = (1980, 1, 1, 0, 0, 0)  # a fixed time, so that equal declarations give equal archives
NAMESPACES = {
    "xmlns:common": "http://lca.jrc.it/ILCD/Common",
    "xmlns:epd": "http://www.iai.kit.edu/EPD/2013",
    "xmlns:epd2": "http://www.indata.network/EPD/2019",
}
MATML = "http://www.matml.org/"
PROPERTY_KEYS = {unit: key for key, unit in FLOW_PROPERTIES.items()}


def write_declaration(declared: DeclaredProduct, path: Path | str) -> None:
    """Write a declaration as .json (extended view), .zip (process and flow) or .xml (process alone, without its unit).

    The file appears whole or not at all, and with the same bytes for the same declaration. InputError where it can't
    be written.
    """
    path = Path(path)
    suffix = path.suffix.lower()
    if suffix == ".json":
        text = json.dumps(_json(declared), indent=1, ensure_ascii=False) + "\n"
        _write(path, text.encode())
    elif suffix == ".xml":
        _write(path, _bytes(_process(declared)))
    elif suffix == ".zip":
        _write(path, _archive(declared))
    else:
        raise InputError(f"{path}: expected a name ending in .xml, .json or .zip")


def _write(path: Path, data: bytes) -> None:
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError as error:
        raise InputError(f"{path}: cannot be written ({error.strerror or error})") from None
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        os.chmod(name, 0o644)  # a temporary file is its owner's alone
        os.replace(name, path)
    except OSError as error:
        Path(name).unlink(missing_ok=True)
        raise InputError(f"{path}: cannot be written ({error.strerror or error})") from None


def _flow_key(declared: DeclaredProduct) -> str:
    return str(uuid.uuid5(uuid.UUID(declared.key), "flow data set"))


def _methods(declared: DeclaredProduct) -> dict[str, str]:
    """UUIDs of the methods by indicator, in the set of the declaration's standard."""
    of = A1 if declared.standard == "EN 15804+A1" else A2_EF31
    return {indicator: key for key, (name, indicator) in METHODS.items() if name == of}


def _results(declared: DeclaredProduct) -> list[tuple[str, str, list[tuple[str, str | None, float]]]]:
    """(indicator's name, method, values as (module, scenario, value)) of every indicator with a value."""
    results = []
    for indicator, key in sorted(_methods(declared).items(), key=lambda each: INDICATORS.index(each[0])):
        values = [
            (module, declared.scenarios.get(module), getattr(each, indicator))
            for module, each in declared.modules.items()
            if getattr(each, indicator) is not None
        ]
        if values:
            results.append((INDICATOR_NAMES[indicator], key, values))
    return results


def _properties(unit: DeclaredUnit) -> list[tuple[str, str, str, float]]:
    """Flow properties as (UUID, name, unit, value of the whole amount), the reference first."""
    properties = [(PROPERTY_KEYS[unit.unit], QUANTITIES[unit.unit], unit.unit, unit.amount)]
    if unit.mass_kg is not None and unit.unit != "kg":
        properties.append((PROPERTY_KEYS["kg"], QUANTITIES["kg"], "kg", unit.mass_kg))
    if unit.biogenic_carbon_kg is not None:
        properties.append((BIOGENIC_CARBON, "Carbon content (biogenic)", "kg", unit.biogenic_carbon_kg))
    if unit.packaging_carbon_kg is not None:
        properties.append((PACKAGING_CARBON, "Carbon content (biogenic) - packaging", "kg", unit.packaging_carbon_kg))
    return properties


def _material(unit: DeclaredUnit) -> list[tuple[str, float, str]]:
    """Material properties as (name, value, unit)."""
    properties = [
        (name, getattr(unit, field), units[0] if units else "-") for name, (field, units) in MATERIAL_PROPERTIES.items()
    ]
    return [each for each in properties if each[1] is not None]


def _json(declared: DeclaredProduct) -> dict[str, Any]:
    info: dict[str, Any] = {"UUID": declared.key, "name": {"baseName": _text(declared.name)}}
    if declared.comment:
        info["generalComment"] = _text(declared.comment)
    scenarios = [{"name": name, "default": True} for name in dict.fromkeys(declared.scenarios.values())]
    if scenarios:
        info["other"] = {"anies": [{"name": "scenarios", "scenario": scenarios}]}
    time = {"referenceYear": declared.reference_year, "dataSetValidUntil": _year(declared)}
    place = {"locationOfOperationSupplyOrProduction": {"location": declared.region}} if declared.region else {}
    return {
        "processInformation": {
            "dataSetInformation": info,
            "quantitativeReference": {"referenceToReferenceFlow": [REFERENCE], "type": "Reference flow(s)"},
            "time": {name: value for name, value in time.items() if value is not None},
            "geography": place,
        },
        "modellingAndValidation": {
            "LCIMethodAndAllocation": {"typeOfDataSet": "EPD"},
            "complianceDeclarations": {
                "compliance": [{"referenceToComplianceSystem": {"shortDescription": _text(declared.standard)}}]
            },
        },
        "exchanges": {"exchange": [_json_exchange(declared)] if declared.unit else []},
        "LCIAResults": {
            "LCIAResult": [
                {
                    "referenceToLCIAMethodDataSet": {
                        "type": "LCIA method data set",
                        "refObjectId": key,
                        "shortDescription": _text(name),
                    },
                    "other": {"anies": [*(_json_amount(*each) for each in values), _json_unit_group()]},
                }
                for name, key, values in _results(declared)
            ]
        },
        "version": VERSION,
    }


def _text(text: str) -> list[dict[str, str]]:
    return [{"value": text, "lang": "en"}]


def _year(declared: DeclaredProduct) -> str | None:
    """The year, or the day where it is not a year's last."""
    until = declared.valid_until
    if until is None:
        return None
    return str(until.year) if (until.month, until.day) == (12, 31) else until.isoformat()


def _json_amount(module: str, scenario: str | None, value: float) -> dict[str, Any]:
    return {"module": module, **({"scenario": scenario} if scenario else {}), "value": repr(value)}


def _json_unit_group() -> dict[str, Any]:
    group = {
        "type": "unit group data set",
        "refObjectId": UNIT_GROUP_CO2E,
        "shortDescription": _text("kg CO2 eq."),
    }
    return {"name": "referenceToUnitGroupDataSet", "value": group}


def _json_exchange(declared: DeclaredProduct) -> dict[str, Any]:
    unit = declared.unit
    return {
        "dataSetInternalID": REFERENCE,
        "referenceToFlowDataSet": {
            "type": "flow data set",
            "refObjectId": _flow_key(declared),
            "shortDescription": _text(declared.name),
        },
        "meanAmount": 1.0,
        "referenceFlow": True,
        "resultingflowAmount": unit.amount,
        "flowProperties": [
            {
                "name": _text(name),
                "uuid": key,
                **({"referenceFlowProperty": True} if i == REFERENCE else {}),
                "meanValue": value,
                "referenceUnit": of,
            }
            for i, (key, name, of, value) in enumerate(_properties(unit))
        ],
        "materialProperties": [{"name": name, "value": repr(value), "unit": of} for name, value, of in _material(unit)],
        "typeOfFlow": "Product flow",
    }


def _bytes(root: Element) -> bytes:
    ElementTree.indent(root)
    return ElementTree.tostring(root, encoding="utf-8", xml_declaration=True) + b"\n"


def _archive(declared: DeclaredProduct) -> bytes:
    entries = {f"ILCD/processes/{declared.key}.xml": _bytes(_process(declared))}
    if declared.unit:
        entries[f"ILCD/flows/{_flow_key(declared)}.xml"] = _bytes(_flow(declared))
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in entries.items():
            entry = zipfile.ZipInfo(name, LONG_AGO)
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, text)
    return held.getvalue()


def _add(parent: Element, path: str, text: str | None = None, **attributes: str) -> Element:
    """Add a path of elements below `parent`, the existing ones of its way used again, the last one new."""
    *way, last = path.split("/")
    for name in way:
        child = next((each for each in parent if each.tag == name), None)
        parent = SubElement(parent, name) if child is None else child
    new = SubElement(parent, last, attributes)
    new.text = text
    return new


def _in_english(parent: Element, path: str, text: str) -> None:
    _add(parent, path, text).set("xml:lang", "en")


def _process(declared: DeclaredProduct) -> Element:
    root = Element(
        "processDataSet",
        {"xmlns": "http://lca.jrc.it/ILCD/Process", **NAMESPACES, "version": "1.1", "epd2:epd-version": FORMAT_VERSION},
    )
    about = _add(root, "processInformation")
    info = _add(about, "dataSetInformation")
    _add(info, "common:UUID", declared.key)
    _in_english(info, "name/baseName", declared.name)
    if declared.comment:
        _in_english(info, "common:generalComment", declared.comment)
    for name in dict.fromkeys(declared.scenarios.values()):
        _add(info, "common:other/epd:scenarios/epd:scenario", **{"epd:name": name, "epd:default": "true"})
    _add(about, "quantitativeReference", type="Reference flow(s)")
    _add(about, "quantitativeReference/referenceToReferenceFlow", str(REFERENCE))
    if declared.reference_year is not None:
        _add(about, "time/common:referenceYear", str(declared.reference_year))
    if declared.valid_until is not None:
        _add(about, "time/common:dataSetValidUntil", _year(declared))
    if declared.region:
        _add(about, "geography/locationOfOperationSupplyOrProduction", location=declared.region)
    _add(root, "modellingAndValidation/LCIMethodAndAllocation/typeOfDataSet", "EPD")
    compliance = _add(
        root, "modellingAndValidation/complianceDeclarations/compliance/common:referenceToComplianceSystem"
    )
    compliance.set("type", "source data set")
    _in_english(compliance, "common:shortDescription", declared.standard)
    _add(root, "administrativeInformation/publicationAndOwnership/common:dataSetVersion", VERSION)
    exchange = _add(root, "exchanges/exchange", dataSetInternalID=str(REFERENCE))
    to_flow = _add(exchange, "referenceToFlowDataSet", type="flow data set", refObjectId=_flow_key(declared))
    to_flow.set("version", VERSION)
    _in_english(to_flow, "common:shortDescription", declared.name)
    _add(exchange, "meanAmount", "1.0")
    for name, key, values in _results(declared):
        _result(_add(root, "LCIAResults/LCIAResult"), name, key, values)
    return root


def _result(result: Element, name: str, key: str, values: list[tuple[str, str | None, float]]) -> None:
    method = _add(result, "referenceToLCIAMethodDataSet", type="LCIA method data set", refObjectId=key)
    _in_english(method, "common:shortDescription", name)
    for module, scenario, value in values:
        amount = _add(result, "common:other/epd:amount", repr(value), **{"epd:module": module})
        if scenario:
            amount.set("epd:scenario", scenario)
    group = _add(result, "common:other/epd:referenceToUnitGroupDataSet", type="unit group data set")
    group.set("refObjectId", UNIT_GROUP_CO2E)
    _in_english(group, "common:shortDescription", "kg CO2 eq.")


def _flow(declared: DeclaredProduct) -> Element:
    unit = declared.unit
    root = Element(
        "flowDataSet", {"xmlns": "http://lca.jrc.it/ILCD/Flow", **NAMESPACES, "xmlns:mat": MATML, "version": "1.1"}
    )
    info = _add(root, "flowInformation/dataSetInformation")
    _add(info, "common:UUID", _flow_key(declared))
    _in_english(info, "name/baseName", declared.name)
    if _material(unit):
        _matml(_add(info, "common:other/mat:MatML_Doc"), declared.name, _material(unit))
    _add(root, "flowInformation/quantitativeReference/referenceToReferenceFlowProperty", str(REFERENCE))
    _add(root, "modellingAndValidation/LCIMethod/typeOfDataSet", "Product flow")
    _add(root, "administrativeInformation/publicationAndOwnership/common:dataSetVersion", VERSION)
    for i, (key, name, _, value) in enumerate(_properties(unit)):
        each = _add(root, "flowProperties/flowProperty", dataSetInternalID=str(i))
        of = _add(each, "referenceToFlowPropertyDataSet", type="flow property data set", refObjectId=key)
        _in_english(of, "common:shortDescription", name)
        _add(each, "meanValue", repr(value))
    return root


def _matml(root: Element, name: str, properties: list[tuple[str, float, str]]) -> None:
    _add(root, "mat:Material/mat:BulkDetails/mat:Name", name)
    for i, (called, value, unit) in enumerate(properties, 1):
        data = _add(root, "mat:Material/mat:BulkDetails/mat:PropertyData", property=f"pr{i}")
        _add(data, "mat:Data", repr(value), format="float")
        details = _add(root, "mat:Metadata/mat:PropertyDetails", id=f"pr{i}")
        _add(details, "mat:Name", called)
        _add(details, "mat:Units", name=re.sub(r"m(\d)", r"m^\1", unit))
