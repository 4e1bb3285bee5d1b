"""The brief in one line."""

from __future__ import annotations

from typing import Any

from ..numbers import spelt
from ..words import limit_words, listed, u_goal


def brief_words(brief: Any) -> str:
    """The brief in one line, parted by middle dots."""
    if brief is None:
        return ""
    parts = [brief.name, *([brief.place] if brief.place else [])]
    if brief.house is not None:
        parts.append(f"walls {spelt(brief.house.wall_area_m2, '.0f')} m²")
    also = [u_goal(each) for each in brief.target.all[1:]]
    parts.append(f"U at most {u_goal(brief.target.u_value)}" + (f", also {listed(also)}" if also else ""))
    parts += limit_words(brief.limits.upper(), brief.prices.currency)
    if brief.house is not None:
        parts.append(f"{brief.house.fixed} size fixed")
    return " · ".join(parts)
