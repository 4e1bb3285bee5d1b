"""Parts of a declaration -> the record: which set of indicators, which scenario, what the values stand for."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from pydantic import ValidationError

from ..errors import InputError, explain, nearest
from ..models import MODULES
from . import json_form, xml_form
from .data_set import DeclaredAmount, Flow, Process, Result
from .declaration_files import DeclarationFile
from .declaration_record import (
    A1,
    A1_NAMED,
    INDICATOR_NAMES,
    INDICATORS,
    SETS,
    DeclaredProduct,
    DeclaredUnit,
    Indicator,
    ModuleValues,
)

PRODUCT_STAGE = "A1-A3"
STEPS = ("A1", "A2", "A3")
# Declared values are rounded to three digits or so; sums and products of them differ by no more.
ROUNDING = 0.01

Values = dict[str, dict[Indicator, float]]  # by module, what each indicator says


def processes(documents: Sequence[DeclarationFile]) -> list[tuple[Process, Flow | None]]:
    """The process data sets of a file, each with the flow data set that it refers to; None where there is none."""
    process_data_sets: list[Process] = []
    flows: list[Flow] = []
    for document in documents:
        if not document.is_xml:
            if len(documents) == 1 or json_form.is_process(document):
                process_data_sets.append(json_form.process(document))
        elif xml_form.kind_of(document) == xml_form.PROCESS:
            process_data_sets.append(xml_form.process(document))
        elif xml_form.kind_of(document) == xml_form.FLOW:
            flows.append(xml_form.flow(document))
        elif len(documents) == 1:
            raise InputError(f"{document.place}: expected a process data set of ILCD+EPD (processDataSet)")
    return [(each, _flow_of(each, flows)) for each in process_data_sets]


def _flow_of(process: Process, flows: list[Flow]) -> Flow | None:
    reference = process.reference
    if reference is None or reference.flow is not None:
        return None if reference is None else reference.flow
    same = [each for each in flows if each.key is not None and each.key == reference.flow_key]
    if len(same) > 1:
        same = [each for each in same if each.version == reference.flow_version] or same
    if len(same) > 1:
        raise InputError(f"{same[1].place}: flow data set {same[1].key} stands in {same[0].place} too; expected one")
    return same[0] if same else None


def scenario_names(process: Process) -> set[str]:
    """Every scenario that the declaration names, in its list or at a value."""
    used = {each.scenario for result in process.results for each in result.amounts if each.scenario}
    return used | {name for name, _ in process.scenarios if name}


def declared(process: Process, flow: Flow | None, wanted: Collection[str] = ()) -> DeclaredProduct:
    """The record of one declaration; `wanted` names the scenarios to read where the file's default is not meant.

    InputError: no value for A1-A3, a module of several scenarios without a default, contradictory values.
    """
    of, results = _set_of(process)
    defaults = {name for name, default in process.scenarios if default}
    values, scenarios = _chosen(process, results, defaults, set(wanted))
    modules = _modules(process, values)
    try:
        return DeclaredProduct(
            key=process.key,
            name=process.name,
            comment=process.comment,
            standard="EN 15804+A1" if of in (A1, A1_NAMED) else "EN 15804+A2",
            modules={name: ModuleValues(**modules[name]) for name in MODULES if name in modules},
            scenarios={name: scenarios[name] for name in MODULES if name in scenarios and name in modules},
            valid_until=process.valid_until,
            reference_year=process.reference_year,
            region=process.region,
            unit=_unit(process, flow),
        )
    except ValidationError as error:
        raise explain(error, process.place) from None


def _set_of(process: Process) -> tuple[str, dict[Indicator, Result]]:
    """The set of indicators that is read, with its results; a set that splits climate change goes first."""
    by_set: dict[str, dict[Indicator, Result]] = {}
    for result in process.results:
        of, indicator = result.of
        if indicator in by_set.setdefault(of, {}):
            first = by_set[of][indicator].place
            raise InputError(f"{result.place}: {INDICATOR_NAMES[indicator]} stands in {first} too; expected it once")
        by_set[of][indicator] = result
    for of in sorted(by_set, key=lambda each: ("fossil" not in by_set[each], SETS.index(each))):
        if any(result.amounts for result in by_set[of].values()):
            return of, by_set[of]
    raise InputError(f"{process.place}: no climate change (GWP) among the results; expected it for A1-A3")


def _chosen(
    process: Process, results: dict[Indicator, Result], defaults: set[str], wanted: set[str]
) -> tuple[Values, dict[str, str]]:
    """Values by module under one scenario each, and the names of those scenarios."""
    by_module: dict[str, dict[str | None, dict[Indicator, DeclaredAmount]]] = {}
    for indicator, result in results.items():
        for amount in result.amounts:
            if amount.module not in MODULES and amount.module not in STEPS:
                continue
            here = by_module.setdefault(amount.module, {}).setdefault(amount.scenario, {})
            if indicator in here and here[indicator].value != amount.value:
                raise InputError(
                    f"{amount.place}: {amount.value:g} for module {amount.module}; "
                    f"{here[indicator].value:g} stands in {here[indicator].place}"
                )
            here[indicator] = amount
    values: Values = {}
    scenarios: dict[str, str] = {}
    for module, options in by_module.items():
        scenario = _scenario(process.place, module, list(options), defaults, wanted)
        values[module] = {indicator: amount.value for indicator, amount in options[scenario].items()}
        if scenario is not None:
            scenarios[module] = scenario
    return values, scenarios


def _scenario(place: str, module: str, options: list[str | None], defaults: set[str], wanted: set[str]) -> str | None:
    """The only scenario of a module, or the one asked for, or the declared default."""
    if len(options) == 1:
        return options[0]
    for names in (wanted, defaults):
        named = [each for each in options if each in names]
        if len(named) == 1:
            return named[0]
        if named:
            break
    shown = ", ".join(f'"{each}"' if each else "one without a name" for each in options)
    raise InputError(f"{place}: module {module} has the scenarios {shown} and no single default; name one of them")


def _modules(process: Process, values: Values) -> Values:
    """Values of the modules that we know, A1, A2 and A3 added up where they stand apart."""
    modules = {name: dict(each) for name, each in values.items() if name in MODULES}
    stage = modules.setdefault(PRODUCT_STAGE, {})
    for indicator in INDICATORS:
        steps = {step: values[step][indicator] for step in STEPS if indicator in values.get(step, {})}
        if len(steps) == len(STEPS):
            total = sum(steps.values())
            given = stage.setdefault(indicator, total)
            if abs(given - total) > ROUNDING * max(abs(given), *(abs(each) for each in steps.values())):
                raise InputError(
                    f"{process.place}: {INDICATOR_NAMES[indicator]} {given:g} for A1-A3; expected {total:g}, "
                    "the sum of its A1, A2 and A3"
                )
        elif steps and indicator not in stage:
            missing = next(step for step in STEPS if step not in steps)
            raise InputError(
                f"{process.place}: {INDICATOR_NAMES[indicator]} is missing for {missing}; expected A1, A2 and A3, "
                "or A1-A3 in one (a module that is missing is not zero)"
            )
    if not stage:
        raise InputError(f"{process.place}: no climate change (GWP) for A1-A3; a declaration needs it")
    return modules


def _unit(process: Process, flow: Flow | None) -> DeclaredUnit | None:
    reference = process.reference
    if reference is None or flow is None:
        return None
    of = flow.reference
    if of is None:
        raise InputError(f"{flow.place}: no reference flow property; expected the one of the declared unit")
    if of.means in ("", "carbon", "packaging carbon"):
        raise InputError(
            f"{of.place}: declared by '{of.shown}'; expected mass, volume, area, length or number of items"
        )
    if not of.value or of.value < 0:
        raise InputError(f"{of.place}/meanValue: expected a number above 0, the size of the declared unit")
    count = reference.count
    if count is None and reference.resulting is not None:
        count = reference.resulting / of.value
    if count is None or count <= 0:
        raise InputError(f"{reference.place}/meanAmount: expected a number above 0, how many units are declared")
    amount = count * of.value
    if reference.resulting is not None and abs(reference.resulting - amount) > 1e-6 * amount:
        raise InputError(
            f"{reference.place}: {reference.resulting:g} declared units; expected {amount:g}, as its flow says"
        )
    facts: dict[str, float] = {}
    for each in flow.properties:
        field = {"kg": "mass_kg", "carbon": "biogenic_carbon_kg", "packaging carbon": "packaging_carbon_kg"}.get(
            each.means
        )
        if field and each.value is not None and not (field == "mass_kg" and (each.value == 0 or of.means == "kg")):
            facts.setdefault(field, count * each.value)
    try:
        return DeclaredUnit(amount=amount, unit=of.means, **facts, **flow.material)
    except ValidationError as error:
        raise explain(error, f"{flow.place}: flow properties") from None


def check_scenarios(wanted: Collection[str], known: Collection[str], place: str) -> None:
    """InputError for a scenario that no declaration has."""
    for name in wanted:
        if name not in known:
            shown = ", ".join(f'"{each}"' for each in sorted(known)) or "none"
            raise InputError(f'{place}: scenario "{name}" is not declared{nearest(name, known)}; declared: {shown}')
