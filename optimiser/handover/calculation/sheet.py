"""The calculation sheet of one wall as plain records: all that a certifier needs to check it by hand.

`calculation_typst.calculation_pdf` and `calculation_html.calculation_html` print what `calculation` gives.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from html import unescape

from materials.catalogue import load_catalogue

from ...brief.brief import Brief
from ...checks.check_table import CHECKS, switched_on
from ...checks.judge import Judged
from ...conduction.figures import NumericFigures
from ...conduction.wall_cell import NumericHeat
from ...document import (
    UNKNOWN,
    Document,
    DocumentPart,
    Drawing,
    Facts,
    Items,
    Section,
    Signature,
    Text,
    exact,
    listed,
    number,
    passed,
)
from ...house.house import House
from ...locales import writing
from ...wall.pricing import Pricing
from ..drawing.section import section_svg
from ..drawing.title import CAUTION
from ..filling.sheet import digest_of
from ..ordering.as_taken_off import AsTakenOff
from ..ordering.taken_off_report import taken_off_section, verdict
from ..tables.tabular import MARK_WORDS
from .checks import proof_sections
from .heat import heat_section
from .sources import sources_section
from .sums import carbon_section, cost_section

NOUNS = {
    "thickness_mm": ("thickness", "mm"),
    "cost_per_m2": ("cost", "per m²"),
    "carbon_kgco2e_m2": ("embodied carbon", "kgCO₂e/m²"),
    "weight_kg_m2": ("weight", "kg/m²"),
    "whole_life_kgco2e_m2": ("whole-life carbon", "kgCO₂e/m²"),
}
ASSUMPTIONS = (
    "Heat: one wall far from corners, openings and floors, steady, with the design conductivities of the layer table. "
    "Junctions are not part of U.",
    "Members of one axis and spacing overlap as they are drawn; other members stand independently of each other. "
    "What a tie laps of a stud counts as material and not as a bridge.",
    "Moisture: diffusion alone, month by month. Air that leaks through the wall, driving rain, sun and water built in "
    "are not part of the method; the drying reserve stands for leaks.",
    "Carbon and cost: per m² of wall face without its openings, as the brief counts them.",
)
MARK = 16  # signs of a sha256 that are shown
LICENSED = f"{CAUTION} Fire is not checked. Local codes go before every figure here."


def calculation(
    judged: Judged,
    brief: Brief | None = None,
    *,
    pricing: Pricing | None = None,
    numeric: NumericHeat | NumericFigures | None = None,
    drawings: Sequence[str | Drawing] = (),
    wall_id: str | None = None,
    target: float | None = None,
    digests: Mapping[str, str] | None = None,
    taken: AsTakenOff | str | None = None,
) -> Document:
    """The whole sheet. Numbers are written as the brief's locale does.

    pricing: the products behind the wall, for prices and sources. numeric: the wall by conduction; that of the
    judgement where it is not given. drawings: as SVG, the plan section where there are none. target: the U-value
    [W/m2K] that the wall was sought for; the brief's first otherwise. digests: of price lists and declarations, by
    name. taken: the wall with what the order counts in it, or why that cannot be counted. Values that are unknown are
    told as such.
    """
    with writing(brief.locale if brief is not None else "en"):
        conduction = judged.numeric if numeric is None else numeric
        solved = conduction.heat if isinstance(conduction, NumericFigures) else conduction
        name = wall_id or judged.wall.name
        goal = target if target is not None else brief.target.u_value if brief is not None else None
        counted = taken if isinstance(taken, AsTakenOff) else None
        sections = (
            _head(judged, brief, goal, counted),
            _drawn(judged, drawings),
            heat_section(judged, brief),
            *([] if taken is None else [taken_off_section(taken)]),
            *proof_sections(judged, brief, solved),
            carbon_section(judged),
            cost_section(judged, brief, "" if pricing is None else pricing.currency),
            sources_section(judged, brief, pricing),
            _ending(judged, digests or {}),
        )
    subtitle = "" if wall_id is None or wall_id == judged.wall.name else judged.wall.name
    return Document(f"Calculation of wall {name}", subtitle, sections, f"Calculation of wall {name}")


def _head(
    judged: Judged,
    brief: Brief | None,
    target: float | None,
    counted: AsTakenOff | None,
) -> Section:
    """What was asked and what came of it, not yet checked."""
    heat = judged.heat
    u_value = f"not given: {heat.refused}" if heat.refused else f"{number(judged.u_value, 4)} W/m²K"
    goal = "none"
    if target is not None:
        met = None if heat.refused else judged.u_value <= target
        goal = f"at most {exact(target)} W/m²K: {'open' if met is None else 'met' if met else 'missed'}"
        goal += "" if counted is None or not verdict(counted) else f" as declared, {verdict(counted)} as taken off"
    verdicts = [f"{each.label} {passed(judged.verdicts[each].passes)}" for each in CHECKS]
    currency = "" if brief is None else f" {brief.prices.currency}"
    pairs = [
        *_asked(brief),
        ("U-value", u_value),
        *_as_taken(counted),
        ("target", goal),
        ("thickness", f"{exact(round(judged.thickness_mm, 4))} mm"),
        ("weight", _per_m2(judged.weight_kg_m2, " kg", 1)),
        ("carbon that counts", _per_m2(judged.carbon_kgco2e_m2, " kgCO₂e", 2)),
        ("stored carbon, apart", _per_m2(None if judged.carbon.stored is None else -judged.carbon.stored, " kgCO₂", 2)),
        ("cost", _per_m2(judged.cost_per_m2, currency, 2)),
        ("checks", ", ".join(verdicts)),
    ]
    return Section("What this sheet is of", (Text(LICENSED), Facts(tuple(pairs))))


def _marks(judged: Judged, digests: Mapping[str, str]) -> Facts:
    """What tells this build-up and the lists behind it from any other."""
    pairs = [
        ("mark of the build-up", f"{digest_of(judged.wall)} {MARK_WORDS}"),
        ("mark of the catalogue", digests.get("catalogue", load_catalogue().digest)[:MARK]),
        *((f"mark of {name}", digest[:MARK]) for name, digest in sorted(digests.items()) if name != "catalogue"),
    ]
    return Facts(tuple(pairs), kept=True)


def _as_taken(counted: AsTakenOff | None) -> list[tuple[str, str]]:
    known = counted is not None and counted.u_taken is not None
    return [("U-value as taken off", f"{number(counted.u_taken, 4)} W/m²K")] if known else []


def _per_m2(value: float | None, unit: str, digits: int) -> str:
    return UNKNOWN if value is None else f"{number(value + 0.0, digits)}{unit}/m²"


def _asked(brief: Brief | None) -> list[tuple[str, str]]:
    """Who asked for what."""
    if brief is None:
        return [("brief", "none: the build-up by itself")]
    asked = [f"U at most {listed([exact(each) for each in brief.target.all])} W/m²K"]
    for key, limit in brief.limits.upper().items():
        noun, unit = NOUNS.get(key, (key.replace("_", " "), ""))
        asked.append(f"{noun} at most {exact(limit)} {unit}".rstrip())
    wanted = [NOUNS.get(each, (each, ""))[0] for each in brief.objectives.minimise]
    checked = [each.label for each in switched_on(brief)]
    pairs = [
        ("brief", brief.name + (f", {brief.place}" if brief.place else "")),
        ("asked for", "; ".join(asked)),
        ("as little as can be of", listed(wanted)),
        ("checks that rule walls out", listed(checked) if checked else "none"),
    ]
    if brief.prices.on is not None:
        pairs.append(("prices as on", brief.prices.on.isoformat()))
    if brief.house is not None:
        pairs.append(("house", _house_words(brief.house)))
    return pairs


def _house_words(house: House) -> str:
    storeys = "1 storey" if house.storeys == 1 else f"{house.storeys} storeys"
    return (
        f"{number(house.perimeter_m, 2)} m round, {storeys}, {number(house.height_m, 2)} m high, openings "
        f"{number(house.openings_total_m2, 1)} m², {house.fixed} face fixed"
    )


def _drawn(judged: Judged, drawings: Sequence[str | Drawing]) -> Section:
    """The drawings, with what they show in words."""
    given = list(drawings) or [section_svg(judged.wall, width_px=640, plain=True, prefix="sheet")]
    return Section("Drawing", tuple(each if isinstance(each, Drawing) else drawing_of(each) for each in given))


def drawing_of(svg: str) -> Drawing:
    """A drawing with the title and description that the SVG itself holds."""
    said = [re.search(f"<{tag}>(.*?)</{tag}>", svg, re.DOTALL) for tag in ("title", "desc")]
    title, words = (unescape(each[1]) if each else "" for each in said)
    return Drawing(svg, words or title or "drawing of the wall", title)


def _ending(judged: Judged, digests: Mapping[str, str]) -> Section:
    """Assumptions, the marks of all that it rests on, and the line of the licensed person."""
    parts: tuple[DocumentPart, ...] = (
        Items(ASSUMPTIONS),
        _marks(judged, digests),
        Signature("Checked by the person licensed to answer for it:", ("name and licence", "date", "signature")),
    )
    return Section("What this rests on", parts)
