"""The brief, the search and its result as sentences."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from .source import Source
from .words import figure, many, millimetres, money, power_of_ten, u_shown


def brief_words(brief: Any) -> str:
    """The brief in one line, parted by middle dots."""
    if brief is None:
        return ""
    parts = [brief.name, *([brief.place] if brief.place else [])]
    if brief.house is not None:
        parts.append(f"external walls {brief.house.wall_area_m2:.0f} m²")
    parts.append("U at most " + " or ".join(f"{each:.3f}" for each in brief.target.all))
    limits = brief.limits.upper()
    if "thickness_mm" in limits:
        parts.append(f"at most {millimetres(limits['thickness_mm'])} mm thick")
    if "cost_per_m2" in limits:
        parts.append(f"at most {money(limits['cost_per_m2'], brief.prices.currency)} per m²")
    if "carbon_kgco2e_m2" in limits:
        parts.append(f"at most {limits['carbon_kgco2e_m2']:g} kgCO₂e/m²")
    if "weight_kg_m2" in limits:
        parts.append(f"at most {limits['weight_kg_m2']:g} kg/m²")
    if brief.house is not None:
        parts.append("outside size fixed")
    return " · ".join(parts)


def result_words(source: Source) -> tuple[str, str]:
    """What the search found, and out of how many: (in bold, beside it)."""
    count = many(len(source.rows), "wall")
    if source.study is None:
        none = "No front yet" if source.alive else "No front"
        return (f"Front so far · {count}" if source.rows else none), ""
    told = source.summary
    space = f"from {power_of_ten(told['space_size'])} possible" if told.get("space_size") else ""
    seconds = f"{told['seconds']:.1f} s" if told.get("seconds") is not None else ""
    if told.get("complete"):
        return f"Complete front · {count}", ", ".join(filter(None, [space, "none missed", seconds]))
    looked = f"{told['evaluations']:,} looked at" if told.get("evaluations") else ""
    return f"Front · {count}", ", ".join(filter(None, [space, looked, seconds, "not proven complete"]))


def status_words(source: Source) -> tuple[str, str]:
    """The state of a search: (heading, what it means). Empty when there is nothing to say."""
    if source.status == "waiting":
        return "Waiting to start", "The search is getting ready; this page follows it."
    if source.status == "running":
        return "Searching", progress_words(source.progress, len(source.rows))
    if source.status == "cancelled":
        return "Stopped", f"{progress_words(source.progress, len(source.rows))} Resume to go on from here."
    if source.status == "infeasible":
        return "No wall meets this brief", "What is missing, and by how much, stands below."
    if source.status == "failed":
        return "The search ended with an error", source.message
    if source.status == "missing":
        return "Nothing to show", source.message
    if source.run is not None:
        return "Search finished", "This is the front of the changed slots."
    return "", ""


def progress_words(progress: Mapping[str, Any], count: int) -> str:
    """How far a search has come: what is settled, what is open, best so far."""
    parts = []
    if progress.get("generation") is not None:
        of = f" of at most {progress['generations']}" if progress.get("generations") else ""
        parts.append(f"round {progress['generation']}{of}")
    if progress.get("evaluations"):
        parts.append(f"{progress['evaluations']:,} walls looked at")
    parts.append(f"{many(count, 'wall')} on the front so far")
    if progress.get("best_thickness_mm") is not None:
        parts.append(f"thinnest {figure('thickness_mm', progress['best_thickness_mm'], 1).removesuffix('.0')} mm")
    if progress.get("seconds") is not None:
        parts.append(f"{progress['seconds']:.0f} s")
    return ", ".join(parts) + "."


def heat_words(u_value: float, r_upper: float, r_lower: float, correction: float, target: float | None) -> str:
    """U between its limits, and against the target."""
    low, high = 1 / r_upper + correction, 1 / r_lower + correction
    words = (
        f"U {u_value:.4f} W/m²K, between {low:.4f} and {high:.4f}: "
        f"upper limit R′ {r_upper:.3f}, lower limit R″ {r_lower:.3f} m²K/W."
    )
    if target is not None:
        over = u_value - target
        verdict = (
            f"misses the target {u_shown(target)} by {over:.4f}" if over > 0 else f"meets the target {u_shown(target)}"
        )
        words += f" It {verdict}."
    return words
