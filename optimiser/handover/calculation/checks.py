"""The calculation sheet's other proofs: conduction, moisture by month, strength, fill and rules, as records."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from ...brief.brief import Brief
from ...checks import standing
from ...checks.dryness import least_reserve
from ...checks.judge import Judgement
from ...checks.verdicts import Demands
from ...conduction.wall_cell import NumericHeat, name_of
from ...moisture import air, surface
from ...strength.loads import VARIABLE, combinations
from ...strength.settings import Settings, k_mod
from ...template import OUTER_FRAME
from ...wall.buildup import AIR, BuildUp
from ...wall.climate import MONTHS, climate_of, surface_r
from .areas import member_noun
from .records import NONE, UNKNOWN, Facts, Grid, Part, Section, Text, exact, in_print, number, passed, percent
from .water import water_tables

WHOLE = 0.9999  # of a layer's heat; what takes all of it stands alone there
MOISTURE = "Preliminary: protection against moisture belongs to licensed practice; local codes govern."


def demands_of(brief: Brief | None) -> Demands:
    """What a brief asks besides heat; the defaults where there is none."""
    return Demands(brief.moisture, brief.strength, brief.filling) if brief is not None else Demands()


def numeric_section(judged: Judgement, heat: NumericHeat | None) -> Section:
    """Conduction through the wall as drawn, between its bounds."""
    title = "The same wall by conduction (ISO 10211)"
    if heat is None:
        return Section(title, (Text("Not solved for this sheet: U rests on the combined method alone."),))
    hand = judged.heat
    climate = climate_of(judged.wall.conditions)
    month = int(np.argmin(climate.outdoor_temperature))
    outside, inside = float(climate.outdoor_temperature[month]), float(climate.indoor_temperature[month])
    least, most = 1 / hand.r_upper + hand.correction, 1 / hand.r_lower + hand.correction
    pairs = [
        ("lower bound of U, 1 / R′ + ΔU", _u(least)),
        ("upper bound of U, 1 / R″ + ΔU", _u(most)),
        ("U by the combined method", _u(hand.u_value)),
        ("U by conduction", f"{_u(heat.u_value)}, at most {number(heat.u_error, 5)} off for this geometry"),
        ("of it the repeating cell", _u(heat.u_cell)),
        ("of it plates, noggings and openings", _u(heat.u_extra)),
        ("of it corrections ΔU", _u(heat.correction)),
        ("U without any member", _u(heat.u_unbridged)),
        ("lowest temperature factor of the surface", f"fRsi = {number(heat.f_rsi, 3)}"),
        (
            f"the same with Rsi = {exact(surface_r(judged.wall.conditions))} m²K/W, for moisture",
            f"fRsi = {number(heat.f_rsi_moisture, 3)}",
        ),
        (
            f"coldest place of the inside surface in {MONTHS[month]}",
            f"{number(heat.coldest_c(inside, outside), 1)} °C, at {number(outside, 1)} °C outside and "
            f"{number(inside, 1)} °C inside",
        ),
    ]
    if heat.psi_w_mk is not None:
        pairs.append(("a line of studs, against the wall without it", f"ψ = {number(heat.psi_w_mk, 5)} W/mK"))
    if heat.chi_w_k is not None:
        pairs.append(("a tie, against the wall without it", f"χ = {number(heat.chi_w_k, 6)} W/K"))
    rows = _shares(judged.wall, heat)
    words = (
        "Steady conduction on a graded grid, refined until U is within the error stated. The combined method's limits "
        "enclose the result."
    )
    caption = "What the heat passes through in each layer that members cross"
    grids = (Grid(caption, ("part", "of the heat"), rows, widths=(4, 1)),) if rows else ()
    return Section(title, (Text(words), Facts(tuple(pairs)), *grids))


def _shares(wall: BuildUp, heat: NumericHeat) -> tuple[tuple[str, str], ...]:
    """Fill and members of every layer that members cross, outside first, each with its part of the cell's heat."""
    rows = []
    for at, layer in enumerate(wall.layers):
        names = {"air" if layer.material == AIR else "fill": name_of(wall, at)}
        if layer.frame is not None or layer.tie is not None:
            names[member_noun(layer)] = name_of(wall, at, True)
        found = {noun: heat.shares[name] for noun, name in names.items() if heat.shares.get(name, 1.0) < WHOLE}
        rows += [(f"{at + 1} {layer.role}: {noun}", percent(share)) for noun, share in found.items()]
    return tuple(rows)


def _u(value: float) -> str:
    return f"{number(value, 5)} W/m²K"


def _asked_of_the_surface(found: Mapping[str, Any]) -> str:
    least = found["f_rsi_required"]
    return "no month asks for any" if least is None else f"at least {number(least, 3)} in {found['month']}"


def moisture_section(judged: Judgement, brief: Brief | None) -> Section:
    """Surface, condensation and drying by month, drying reserve, mould."""
    title, found = "Moisture, month by month (ISO 13788)", judged.verdicts.moisture
    if found is None:
        return Section(title, (Text(f"Not checked: {judged.verdicts.open['moisture']}."),))
    demand = demands_of(brief).moisture
    limit = found["margins"]["condensate"] + found["peak_g_m2"]
    least = least_reserve(demand, judged.wall.element)
    points = found["mould_margin_percent"]
    ratio = found["sd_ratio"]
    pairs = (
        ("verdict", f"{passed(found['passes'])}{_climate_words(found)}"),
        (
            "temperature factor of the inside surface",
            f"fRsi = {number(found['f_rsi'], 3)}, {_asked_of_the_surface(found)} (ISO 13788)",
        ),
        ("condensate when wettest", f"{number(found['peak_g_m2'], 1)} g/m², at most {number(limit, 0)} (DIN 4108-3)"),
        ("condensate left after the year", f"{number(found['left_g_m2'], 1)} g/m², none allowed (ISO 13788)"),
        (
            "drying reserve",
            f"{number(found['drying_reserve_g_m2'], 0)} g/m², at least {number(least, 0)} (DIN 68800-2)",
        ),
        (
            "vapour resistance inside to outside",
            NONE if ratio is None else f"{number(ratio, 1)} : 1, shown, not a limit",
        ),
        (
            "mould at the sheathing",
            "too cold for it in every month"
            if points is None
            else f"{number(abs(points), 1)} points of relative humidity {'below' if points >= 0 else 'above'} the "
            f"critical one in {found['mould_month']} (Hukka and Viitanen 1999)"
            + ("" if "mould at the sheathing" in found["margins"] else ", shown, not a limit"),
        ),
    )
    parts: list[Part] = [
        Facts(pairs),
        Text(MOISTURE),
        *(Text(f"Take note: {in_print(each)}.") for each in found["flags"]),
    ]
    parts += [*_surface_table(judged), *water_tables(judged)]
    return Section(title, tuple(parts))


def _climate_words(found: dict[str, Any]) -> str:
    return "" if found["climate"] == "given" else ", under the shipped climate, which nobody gave for this wall"


def _surface_table(judged: Judgement) -> list[Part]:
    """The climate and what it asks of the inside surface; the surface with the wall's own U."""
    conditions = judged.wall.conditions
    climate = climate_of(conditions)
    required = surface.required_factor(climate.outdoor_temperature, climate.indoor_temperature, climate.indoor_pressure)
    factor = judged.verdicts.moisture["f_rsi"]
    rows = []
    for month, name in enumerate(MONTHS):
        t_out, t_in = float(climate.outdoor_temperature[month]), float(climate.indoor_temperature[month])
        p_out, p_in = float(climate.outdoor_pressure[month]), float(climate.indoor_pressure[month])
        at_surface = t_out + factor * (t_in - t_out)
        asked = float(required[month])
        rows.append(
            (
                name,
                number(t_out, 1),
                percent(p_out / float(air.saturation_pressure(t_out)), 0),
                number(t_in, 1),
                percent(p_in / float(air.saturation_pressure(t_in)), 0),
                number(p_in, 0),
                number(at_surface, 1),
                percent(p_in / float(air.saturation_pressure(at_surface)), 0),
                NONE if not np.isfinite(asked) else number(asked, 3),
            )
        )
    heads = (
        "month",
        "outside, °C",
        "humidity outside",
        "inside, °C",
        "humidity inside",
        "vapour inside, Pa",
        "surface, °C",
        "humidity at it",
        "fRsi needed",
    )
    words = (
        f"Below, the surface has fRsi = {number(factor, 3)} with Rsi = {exact(surface_r(conditions))} m²K/W; needed is "
        f"what keeps the humidity at it at or below {percent(surface.LIMIT, 0)}."
    )
    return [Text(words, quiet=True, kept=True), Grid("Climate and inside surface", heads, tuple(rows))]


def strength_section(judged: Judgement, brief: Brief | None) -> Section:
    """Loads, combinations and the utilisation of every case."""
    title, found = "Strength of the load-bearing studs (EN 1995-1-1)", judged.verdicts.strength
    if found is None:
        return Section(title, (Text(f"Not checked: {judged.verdicts.open['strength']}."),))
    demand = demands_of(brief).strength
    settings = standing.settings_of(demand)
    loads = standing.wall_loads(judged.wall.loads)
    given = judged.wall.loads
    service = given.service_class or (2 if demand.load_bearing == OUTER_FRAME else 1)
    pairs = (
        ("verdict", f"{passed(found['passes'])}, {percent(found['utilisation'], 1)} used, at most 100\u00a0%"),
        ("governed by", in_print(found["governing"])),
        ("bears the load", f"{found['load_bearing']}, service class {service}"),
        ("length of the studs between plates", f"{exact(standing.height(given) * 1000)} mm"),
        (
            "characteristic loads at the foot",
            f"permanent {number(float(loads.permanent) / 1000, 3)}, imposed {number(float(loads.imposed) / 1000, 3)}, "
            f"snow {number(float(loads.snow) / 1000, 3)} kN/m; wind {number(float(loads.wind) / 1000, 3)} kN/m²",
        ),
        (
            "factors",
            f"γG {exact(settings.gamma_g)}, γQ {exact(settings.gamma_q)}, γM {exact(settings.gamma_m)}; ψ0 imposed "
            f"{exact(settings.psi0_imposed)}, snow {exact(settings.psi0_snow)}, wind {exact(settings.psi0_wind)}; ksys "
            f"{exact(settings.k_sys)}, kc,90 {exact(settings.k_c90)}; deflection at most length / "
            f"{exact(settings.deflection_limit)}",
        ),
        (
            "buckling factors",
            f"kc {number(found['k_c_y'], 3)} through the wall, {number(found['k_c_z'], 3)} along it"
            + (" (restrained by boards)" if given.weak_axis_restrained else ""),
        ),
    )
    parts = (
        Facts(pairs),
        Text(found["caution"]),
        _combination_table(found, settings, service),
        *_case_tables(found),
        Text("Combinations: EN 1990, expression (6.10). Compression with bending: EN 1995-1-1, (6.23) and (6.24)."),
    )
    return Section(title, parts)


def _combination_table(found: dict[str, Any], settings: Settings, service: int) -> Grid:
    used = {case["combination"] for case in found["cases"]}
    rows = [
        (
            in_print(each.name),
            *(exact(getattr(each, action)) if getattr(each, action) else NONE for action in ("permanent", *VARIABLE)),
            exact(float(k_mod(np.array([service]), each.duration)[0])),
        )
        for each in combinations(settings)
        if each.name in used
    ]
    heads = ("combination", "permanent", "imposed", "snow", "wind", "kmod")
    caption = "Combinations of loads: factor on each characteristic load"
    return Grid(caption, heads, tuple(rows), widths=(3, 1, 1, 1, 1, 1))


def _case_tables(found: dict[str, Any]) -> list[Grid]:
    """Utilisation by combination and check, a few checks to a table."""
    checks = list(dict.fromkeys(case["check"] for case in found["cases"]))
    values = {(case["combination"], case["check"]): case["utilisation"] for case in found["cases"]}
    combined = list(dict.fromkeys(case["combination"] for case in found["cases"]))
    tables = []
    for first in range(0, len(checks), 4):
        some = checks[first : first + 4]
        held = [each for each in combined if any((each, check) in values for check in some)]
        rows = tuple(
            (in_print(each), *(percent(values[each, check]) if (each, check) in values else NONE for check in some))
            for each in held
        )
        caption = "Utilisation by case" + (", continued" if first else "")
        tables.append(Grid(caption, ("combination", *some), rows, widths=(5, *([2.2] * len(some)))))
    return tables


def fill_section(judged: Judgement) -> Section:
    """What is blown in: voids, densities, chambers."""
    title, found = "Blown fill (common practice)", judged.verdicts.fill
    if found is None:
        return Section(title, (Text(f"Not checked: {judged.verdicts.open['fill']}."),))
    reasons = [each["reason"] for each in found["voids"]] + [found["membrane"], found["uneven"]]
    why = [in_print(each) for each in reasons if each]
    bag = found["kg_m2"] / found["bags_m2"] if found["bags_m2"] else 1.0
    rows = tuple(
        (
            ", ".join(map(str, each["layers"])),
            exact(each["depth_mm"]),
            number(each["density_kg_m3"], 1),
            number(each["kg_m2"], 2),
            number(each["kg_m2"] / bag, 2),
            str(each["chambers"]),
        )
        for each in found["voids"]
    )
    heads = ("layers", "depth, mm", "density, kg/m³", "kg/m²", "bags/m²", "chambers one above another")
    parts: list[Part] = [Text(f"Verdict: {passed(found['passes'])}{': ' + '; '.join(why) if why else ''}.")]
    if rows:
        parts.append(Grid("Voids that are blown full: target density by the void's whole depth", heads, rows))
    parts.append(Text(found["caution"]))
    return Section(title, tuple(parts))


def rules_section(judged: Judgement) -> Section:
    """Rules of building."""
    rows = tuple((each.rule, passed(each.passes), in_print(each.words)) for each in judged.verdicts.rules)
    if not rows:
        return Section("Rules of building", (Text(f"Rules: {UNKNOWN}."),))
    grid = Grid(
        "How the wall keeps them (common practice)", ("rule", "verdict", "because"), rows, words=3, widths=(5, 1.5, 4)
    )
    return Section("Rules of building", (grid,))


def proof_sections(judged: Judgement, brief: Brief | None, heat: NumericHeat | None) -> Sequence[Section]:
    """Every proof besides U by hand, in the order in which people ask."""
    return (
        numeric_section(judged, heat),
        moisture_section(judged, brief),
        strength_section(judged, brief),
        fill_section(judged),
        rules_section(judged),
    )
