"""One judged wall as the facts its panel shows; nothing of Dash."""

from __future__ import annotations

from dataclasses import dataclass

from optimiser.handover.plan import look_of
from optimiser.judge import Judgement, LayerFigures

from .words import figure, millimetres, missing, money, u_shown

BARS = (
    ("thickness_mm", "thickness"),
    ("cost_per_m2", "cost"),
    ("carbon_kgco2e_m2", "carbon"),
)


@dataclass(frozen=True)
class Segment:
    """One layer's part of a bar."""

    layer: int
    look: str  # as in the drawing
    share: float  # of the bar, 0 to 1
    words: str  # written in it where there is room


@dataclass(frozen=True)
class Bar:
    """A figure of the wall, layer by layer."""

    name: str
    total: str
    segments: list[Segment]
    unknown: str  # layers whose value is unknown, in words; '' when there are none


def key_figures(judged: Judgement, floor_lost: float | None, currency: str) -> list[tuple[str, str]]:
    """The five figures at the top of the panel: (value, label)."""
    carbon = figure("carbon_kgco2e_m2", judged.carbon_kgco2e_m2)
    return [
        (f"{millimetres(judged.thickness_mm)} mm", "thickness"),
        (u_shown(judged.u_value), "U, W/m²K"),
        (money(judged.cost_per_m2, currency), "per m²"),
        (f"{carbon} kg", "CO₂e per m²"),
        (f"{floor_lost:.1f} m²" if floor_lost is not None else "–", "floor lost"),
    ]


def bars(judged: Judgement, currency: str) -> list[Bar]:
    """Thickness, cost and carbon by layer."""
    looks = {
        number: look_of(layer, judged.wall.of(layer.material)) for number, layer in enumerate(judged.wall.layers, 1)
    }
    return [_bar(judged, key, name, looks, currency) for key, name in BARS]


def _bar(judged: Judgement, key: str, name: str, looks: dict[int, str], currency: str) -> Bar:
    values = {each.number: getattr(each, key) for each in judged.layers}
    total = sum(max(value, 0.0) for value in values.values() if not missing(value))
    segments = [
        Segment(number, looks[number], value / total, _written(key, value, currency))
        for number, value in values.items()
        if not missing(value) and value > 0
    ]
    unknown = [str(number) for number, value in values.items() if missing(value)]
    words = f"not known of layer{'s' if len(unknown) > 1 else ''} {', '.join(unknown)}" if unknown else ""
    return Bar(name, _total(key, total, currency), segments, words)


def _written(key: str, value: float, currency: str) -> str:
    if key == "cost_per_m2":
        return money(value, currency)
    return millimetres(value) if key == "thickness_mm" else f"{value:.1f}"


def _total(key: str, total: float, currency: str) -> str:
    if key == "cost_per_m2":
        return money(total, currency, 1)
    return f"{millimetres(total)} mm" if key == "thickness_mm" else f"{total:.1f} kg"


def layer_words(judged: Judgement, each: LayerFigures, currency: str) -> str:
    """What one layer brings, with its share of the wall: the line under the bars while it is lit."""
    parts = []
    if each.thickness_mm:
        parts.append(f"{millimetres(each.thickness_mm)} mm{_of(each.thickness_mm, judged.thickness_mm)}")
    if not missing(each.cost_per_m2):
        parts.append(f"{money(each.cost_per_m2, currency, 2)}{_of(each.cost_per_m2, judged.cost_per_m2)}")
    if not missing(each.carbon_kgco2e_m2):
        share = _of(each.carbon_kgco2e_m2, judged.carbon_kgco2e_m2)
        parts.append(f"{each.carbon_kgco2e_m2:.2f} kgCO₂e{share}")
    if each.resistance_m2k_w:
        parts.append(f"R {each.resistance_m2k_w:.2f} m²K/W")
    return f"{each.number} {each.role}: {', '.join(parts) or 'a thin layer, no figures of its own'}"


def _of(value: float, whole: float | None) -> str:
    return "" if missing(whole) or not whole else f" ({value / whole:.0%})".replace("%", " %")


def layer_rows(judged: Judgement) -> list[tuple[int, str, str, str, str]]:
    """The layer list: number, layer, what it is, supplier, mm."""
    rows = []
    for each in judged.layers:
        shown = millimetres(each.thickness_mm) if each.thickness_mm >= 1 else "–"
        rows.append((each.number, each.role, each.product or each.text, each.supplier or "–", shown))
    return rows
