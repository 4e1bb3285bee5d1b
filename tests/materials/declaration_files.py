"""Files of declarations for tests: ILCD+EPD in XML, extended JSON and ZIP, written by hand, as other programs do.

Nothing here uses the project's own writer, so that reader and writer do not share a mistake.
"""

from __future__ import annotations

import json
import zipfile
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

KEY = "11111111-2222-4333-8444-555555555555"
FLOW_KEY = "66666666-7777-4888-8999-aaaaaaaaaaaa"
FOSSIL = "a7ea19c0-9749-11ed-a8fc-0242ac120002"
BIOGENIC = "a7ea186c-9749-11ed-a8fc-0242ac120002"
LAND_USE = "a7ea1ae2-9749-11ed-a8fc-0242ac120002"
TOTAL = "a7ea142a-9749-11ed-a8fc-0242ac120002"
FOSSIL_30 = "5f635281-343e-44fb-83df-1971b155e6b6"
BIOGENIC_30 = "2356e1ab-0185-4db5-86e5-16de51c7485c"
GWP_A1 = "77e416eb-a363-4258-a04e-171d843a6460"
KG_CO2E = "1ebf3012-d0db-4de2-aefd-ef30cedb0be1"
MASS = "93a60a56-a3c8-11da-a746-0800200b9a66"
VOLUME = "93a60a56-a3c8-22da-a746-0800200c9a66"
AREA = "93a60a56-a3c8-19da-a746-0800200c9a66"
LENGTH = "838aaa23-0117-11db-92e3-0800200c9a66"
ITEMS = "01846770-4cfe-4a25-8ad9-919d8d378345"
ENERGY = "93a60a56-a3c8-14da-a746-0800200c9a66"
CARBON = "62e503ce-544a-4599-b2ad-bcea15a7bf20"
PACKAGING = "262a541b-209e-44cc-a426-33bce30de7b1"

# A wood-fibre board of 250 kg/m3 per m3: 200 kg fossil, 400 kg taken up and given off again.
BOARD = {
    FOSSIL: {"A1-A3": 200.0, "C3": 4.0},
    BIOGENIC: {"A1-A3": -400.0, "C3": 400.0},
    LAND_USE: {"A1-A3": 0.5, "C3": 0.0},
    TOTAL: {"A1-A3": -199.5, "C3": 404.0},
}

Values = dict[str, dict]  # by method UUID (or "name:GWP-fossil" for one without): {module or (module, scenario): value}


def _module(key: object) -> tuple[str, str | None]:
    return key if isinstance(key, tuple) else (key, None)


def process_xml(
    values: Values = BOARD,
    *,
    key: str = KEY,
    names: tuple[tuple[str, str], ...] = (("de", "Platte"), ("en", "a board")),
    year: str | None = "2024",
    until: str | None = "2029",
    location: str | None = "RER",
    scenarios: dict[str, bool] | None = None,
    mean_amount: str = "1.0",
    resulting: str | None = None,
    reference: bool = True,
    unit: tuple[str | None, str] = (KG_CO2E, "kg CO2 eq."),
    extra: str = "",
) -> str:
    """A process data set; every value is written as it comes, numbers by `repr`."""
    declared = "".join(
        f'<epd:scenario epd:name={quoteattr(name)} epd:group="1" epd:default="{str(default).lower()}"/>'
        for name, default in (scenarios or {}).items()
    )
    other = f"<common:other><epd:scenarios>{declared}</epd:scenarios></common:other>" if declared else ""
    results = "".join(_result_xml(method, amounts, unit) for method, amounts in values.items())
    time = f"<common:referenceYear>{year}</common:referenceYear>" if year else ""
    time += f"<common:dataSetValidUntil>{until}</common:dataSetValidUntil>" if until else ""
    place = f"<locationOfOperationSupplyOrProduction location={quoteattr(location)}/>" if location else ""
    base = "".join(f'<baseName xml:lang="{language}">{escape(name)}</baseName>' for language, name in names)
    amount = f"<resultingAmount>{resulting}</resultingAmount>" if resulting else ""
    number = "<referenceToReferenceFlow>42</referenceToReferenceFlow>" if reference else ""
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<processDataSet xmlns="http://lca.jrc.it/ILCD/Process" xmlns:common="http://lca.jrc.it/ILCD/Common"
 xmlns:epd="http://www.iai.kit.edu/EPD/2013" xmlns:epd2="http://www.indata.network/EPD/2019" version="1.1">
<processInformation><dataSetInformation><common:UUID>{key}</common:UUID><name>{base}</name>{other}</dataSetInformation>
<quantitativeReference type="Reference flow(s)">{number}</quantitativeReference>
<time>{time}</time><geography>{place}</geography></processInformation>
<exchanges>
<exchange dataSetInternalID="42"><referenceToFlowDataSet type="flow data set" refObjectId="{FLOW_KEY}"/>
<meanAmount>{mean_amount}</meanAmount>{amount}</exchange>
<exchange dataSetInternalID="1"><referenceToFlowDataSet type="flow data set" refObjectId="{KEY}"/>
<meanAmount>0.0</meanAmount><common:other><epd:amount epd:module="A1-A3">89</epd:amount></common:other></exchange>
</exchanges>
<LCIAResults>{results}</LCIAResults>{extra}</processDataSet>
"""


def _named(scenario: str | None) -> str:
    return f" epd:scenario={quoteattr(scenario)}" if scenario else ""


def _result_xml(method: str, amounts: dict, unit: tuple[str | None, str]) -> str:
    name = method.removeprefix("name:")
    reference = "" if method.startswith("name:") else f' refObjectId="{method}"'
    rows = "".join(
        f'<epd:amount epd:module="{module}"{_named(scenario)}>{value}</epd:amount>'
        for (module, scenario), value in ((_module(key), value) for key, value in amounts.items())
    )
    group = f' refObjectId="{unit[0]}"' if unit[0] else ""
    return f"""<LCIAResult><referenceToLCIAMethodDataSet type="LCIA method data set"{reference}>
<common:shortDescription xml:lang="en">{escape(name)}</common:shortDescription></referenceToLCIAMethodDataSet>
<meanAmount>0.0</meanAmount><common:other>{rows}<epd:referenceToUnitGroupDataSet{group}>
<common:shortDescription xml:lang="en">{unit[1]}</common:shortDescription></epd:referenceToUnitGroupDataSet>
</common:other></LCIAResult>"""


def flow_xml(
    quantity: str = VOLUME,
    value: object = 1.0,
    *,
    key: str = FLOW_KEY,
    others: dict[str, object] | None = None,
    material: dict[str, object] | None = None,
    units: dict[str, str] | None = None,
    version: str = "00.01.000",
) -> str:
    """A flow data set: the reference quantity, other flow properties by UUID, material properties by name."""
    properties = "".join(
        f"""<flowProperty dataSetInternalID="{i}"><referenceToFlowPropertyDataSet refObjectId="{of}"/>
<meanValue>{amount}</meanValue></flowProperty>"""
        for i, (of, amount) in enumerate({quantity: value, **(others or {})}.items())
    )
    data = "".join(
        f'<m:PropertyData property="p{i}"><m:Data format="float">{amount}</m:Data></m:PropertyData>'
        for i, amount in enumerate((material or {}).values())
    )
    details = "".join(
        f'<m:PropertyDetails id="p{i}"><m:Name>{name}</m:Name><m:Units name="{(units or {}).get(name, "")}"/>'
        "</m:PropertyDetails>"
        for i, name in enumerate(material or {})
    )
    return f"""<?xml version="1.0"?>
<f:flowDataSet xmlns:f="http://lca.jrc.it/ILCD/Flow" xmlns="http://lca.jrc.it/ILCD/Flow"
 xmlns:common="http://lca.jrc.it/ILCD/Common" xmlns:m="http://www.matml.org/">
<flowInformation><dataSetInformation><common:UUID>{key}</common:UUID><common:other><m:MatML_Doc>
<m:Material><m:BulkDetails>{data}</m:BulkDetails></m:Material><m:Metadata>{details}</m:Metadata>
</m:MatML_Doc></common:other></dataSetInformation>
<quantitativeReference><referenceToReferenceFlowProperty>0</referenceToReferenceFlowProperty></quantitativeReference>
</flowInformation><administrativeInformation><publicationAndOwnership>
<common:dataSetVersion>{version}</common:dataSetVersion></publicationAndOwnership></administrativeInformation>
<flowProperties>{properties}</flowProperties></f:flowDataSet>
"""


def process_json(
    values: Values = BOARD,
    quantity: str | None = VOLUME,
    amount: object = 1.0,
    *,
    key: str = KEY,
    others: dict[str, object] | None = None,
    material: dict[str, object] | None = None,
    scenarios: dict[str, bool] | None = None,
    **exchange: object,
) -> dict:
    """A process data set in the extended JSON view."""
    properties = [
        {"uuid": of, "meanValue": value, "referenceFlowProperty": i == 0}
        for i, (of, value) in enumerate({quantity: amount, **(others or {})}.items())
    ]
    results = []
    for method, amounts in values.items():
        rows = [
            {"module": module, "value": value} | ({"scenario": scenario} if scenario else {})
            for (module, scenario), value in ((_module(each), value) for each, value in amounts.items())
        ]
        named = {"shortDescription": [{"value": method.removeprefix("name:"), "lang": "en"}]}
        reference = named if method.startswith("name:") else named | {"refObjectId": method}
        results.append({"referenceToLCIAMethodDataSet": reference, "meanAmount": 0.0, "other": {"anies": rows}})
    declared = [{"name": name, "default": default} for name, default in (scenarios or {}).items()]
    return {
        "processInformation": {
            "dataSetInformation": {
                "UUID": key,
                "name": {"baseName": [{"value": "Platte", "lang": "de"}, {"value": "a board", "lang": "en"}]},
                "other": {"anies": [{"name": "scenarios", "scenario": declared}] if declared else []},
            },
            "quantitativeReference": {"referenceToReferenceFlow": [42]},
            "time": {"referenceYear": 2024, "dataSetValidUntil": 2029},
            "geography": {"locationOfOperationSupplyOrProduction": {"location": "RER"}},
        },
        "exchanges": {
            "exchange": [
                {
                    "dataSetInternalID": 42,
                    "meanAmount": 1.0,
                    "referenceFlow": True,
                    "flowProperties": properties if quantity else [],
                    "materialProperties": [
                        {"name": name, "value": str(value)} for name, value in (material or {}).items()
                    ],
                    **exchange,
                }
            ]
        },
        "LCIAResults": {"LCIAResult": results},
    }


def write_xml(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path


def write_json(path: Path, root: object) -> Path:
    path.write_text(json.dumps(root), encoding="utf-8")
    return path


def write_zip(path: Path, *texts: str, **named: str | bytes) -> Path:
    """An archive of a process and what lies beside it; further entries by name, "/" written as "__"."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for i, text in enumerate(texts):
            folder = "flows" if "flowDataSet" in text else "processes"
            archive.writestr(f"ILCD/{folder}/{i}.xml", text)
        for name, text in named.items():
            archive.writestr(name.replace("__", "/"), text)
    return path
