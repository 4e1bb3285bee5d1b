"""One judged wall as the facts its panel shows; nothing of Dash."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from materials.models import Product
from optimiser.checks.judge import Judged, LayerFigures
from optimiser.handover.drawing.plan import look_of
from optimiser.locales import many
from optimiser.search.landmarks import USUAL, missing
from optimiser.wall.pricing import lapsed_words
from optimiser.wall.scores import WHOLE_LIFE

from ..numbers import spelt
from ..words import figure, millimetres, money, u_shown

BARS = (
    ("thickness_mm", "thickness"),
    ("cost_per_m2", "cost"),
    ("carbon_kgco2e_m2", "carbon"),
)


@dataclass(frozen=True)
class FactRow:
    """A line of a table. kind: '' | 'off' (shown, and not part of the sum) | 'sum' | 'apart' (below the sum)."""

    cells: tuple[str, ...]
    kind: str = ""
    layer: int | None = None  # that it lights
    hint: str = ""  # what more there is to say of it


@dataclass(frozen=True)
class FactTable:
    """A table for screen and paper: its first `words` columns are words, the others numbers."""

    heads: tuple[str, ...]
    rows: tuple[FactRow, ...]
    words: int = 1

    def kind_of(self, column: int) -> str:
        """How a column is set."""
        return "" if column < self.words else "right"


@dataclass(frozen=True)
class LayerLine:
    """A line of the layer list; `mark` is what must not be overlooked of its price, `hint` what else is stated."""

    number: int
    role: str
    what: str
    supplier: str
    shown_mm: str
    mark: str = ""
    hint: str = ""


@dataclass(frozen=True)
class Segment:
    """One layer's part of a bar."""

    layer: int
    look: str  # as in the drawing
    share: float  # of the bar, 0 to 1
    words: str  # written in it where there is room


@dataclass(frozen=True)
class LayerBar:
    """A figure of the wall, layer by layer."""

    name: str
    total: str
    segments: list[Segment]
    unknown: str  # layers whose value is unknown, in words; '' when there are none


def key_figures(
    judged: Judged, floor_lost: float | None, currency: str, asked: Sequence[str] = USUAL
) -> list[tuple[str, str]]:
    """The figures at the top of the panel: (value, label); five, and what else is asked for."""
    carbon = figure("carbon_kgco2e_m2", judged.carbon_kgco2e_m2)
    besides = {
        "weight_kg_m2": (f"{figure('weight_kg_m2', judged.weight_kg_m2)} kg", "weight per m²"),
        WHOLE_LIFE: (f"{figure(WHOLE_LIFE, judged.carbon.whole_life)} kg", "CO₂e whole life"),
    }
    return [
        (f"{millimetres(judged.thickness_mm)} mm", "thickness"),
        (u_shown(judged.u_value), "U, W/m²K"),
        (money(judged.cost_per_m2, currency), "per m²"),
        (f"{carbon} kg", "CO₂e per m²"),
        (f"{spelt(floor_lost, '.1f')} m²" if floor_lost is not None else "–", "floor lost"),
        *(each for key, each in besides.items() if key in asked),
    ]


def bars(judged: Judged, currency: str) -> list[LayerBar]:
    """Thickness, cost and carbon by layer."""
    looks = {
        number: look_of(layer, judged.wall.of(layer.material)) for number, layer in enumerate(judged.wall.layers, 1)
    }
    return [_bar(judged, key, name, looks, currency) for key, name in BARS]


def _bar(judged: Judged, key: str, name: str, looks: dict[int, str], currency: str) -> LayerBar:
    values = {each.number: getattr(each, key) for each in judged.layers}
    total = sum(max(value, 0.0) for value in values.values() if not missing(value))
    segments = [
        Segment(number, looks[number], value / total, _written(key, value, currency))
        for number, value in values.items()
        if not missing(value) and value > 0
    ]
    unknown = [str(number) for number, value in values.items() if missing(value)]
    words = f"not known of layer{'s' if len(unknown) > 1 else ''} {', '.join(unknown)}" if unknown else ""
    return LayerBar(name, _total(key, total, currency), segments, words)


def _written(key: str, value: float, currency: str) -> str:
    if key == "cost_per_m2":
        return money(value, currency)
    return millimetres(value) if key == "thickness_mm" else spelt(value, ".1f")


def _total(key: str, total: float, currency: str) -> str:
    if key == "cost_per_m2":
        return money(total, currency, 1)
    return f"{millimetres(total)} mm" if key == "thickness_mm" else f"{spelt(total, '.1f')} kg"


def layer_words(judged: Judged, each: LayerFigures, currency: str) -> str:
    """What one layer brings, with its share of the wall: the line under the bars while it is lit."""
    parts = []
    if each.thickness_mm:
        parts.append(f"{millimetres(each.thickness_mm)} mm{_of(each.thickness_mm, judged.thickness_mm)}")
    if not missing(each.cost_per_m2):
        parts.append(f"{money(each.cost_per_m2, currency, 2)}{_of(each.cost_per_m2, judged.cost_per_m2)}")
    if not missing(each.carbon_kgco2e_m2):
        share = _of(each.carbon_kgco2e_m2, judged.carbon_kgco2e_m2)
        parts.append(f"{spelt(each.carbon_kgco2e_m2, '.2f')} kgCO₂e{share}")
    if each.resistance_m2k_w:
        parts.append(f"R {spelt(each.resistance_m2k_w, '.2f')} m²K/W")
    return f"{each.number} {each.role}: {', '.join(parts) or 'a thin layer, no figures of its own'}"


def _of(value: float, whole: float | None) -> str:
    return "" if missing(whole) or not whole else f" ({value / whole:.0%})".replace("%", " %")


def layer_lines(
    judged: Judged, offered: Mapping[str, Product] | None = None, today: date | None = None
) -> list[LayerLine]:
    """The layer list, outside first. offered: the products on the lists by key; today: when prices must be valid."""
    lines = []
    for each in judged.layers:
        products = bought(judged, each.number, offered or {})
        lapsed = [product for product in products if product.lapsed(today or date.today())]
        name = each.product or each.text
        for product in lapsed:  # the name may carry the mark already
            name = name.replace(f" ({lapsed_words(product)})", "")
        lines.append(
            LayerLine(
                each.number,
                each.role,
                name,
                each.supplier or "–",
                millimetres(each.thickness_mm) if each.thickness_mm >= 1 else "–",
                "; ".join(dict.fromkeys(map(lapsed_words, lapsed))),
                "\n".join(filter(None, map(order_words, products))),
            )
        )
    return lines


def bought(judged: Judged, number: int, offered: Mapping[str, Product]) -> list[Product]:
    """The products that a layer names for what fills it, its members and its ties, those on the lists."""
    layer = judged.wall.layers[number - 1]
    held = [layer, layer.frame, layer.tie]
    named: Sequence[str | tuple[str, ...] | None] = [each.product for each in held if each is not None]
    keys = [key for each in named if each for key in ((each,) if isinstance(each, str) else each)]
    return [offered[key] for key in dict.fromkeys(keys) if key in offered]


def order_words(product: Product) -> str:
    """What ordering a product takes, as far as its list states it: 'OSB 9: 7 days to delivery, at least 15 m²'."""
    unit = product.unit.replace("m2", "m²").replace("m3", "m³")
    several = unit if unit != "piece" else "pieces"
    said = []
    if product.lead_time_days is not None:
        said.append(f"{many(product.lead_time_days, 'day')} to delivery")
    if product.minimum_order:
        said.append(f"at least {spelt(product.minimum_order, 'g')} {several}")
    if product.pack and product.pack_contents:
        said.append(f"{product.pack} of {spelt(product.pack_contents, 'g')} {several}")
    if product.valid_until is not None:
        said.append(f"price valid until {product.valid_until.isoformat()}")
    return f"{product.name}: {', '.join(said)}" if said else ""


def heat_words(u_value: float, r_upper: float, r_lower: float, correction: float, target: float | None) -> str:
    """U between its limits, and against the target."""
    low, high = 1 / r_upper + correction, 1 / r_lower + correction
    words = (
        f"U {spelt(u_value, '.4f')} W/m²K, between {spelt(low, '.4f')} and {spelt(high, '.4f')}: "
        f"upper limit R′ {spelt(r_upper, '.3f')}, lower limit R″ {spelt(r_lower, '.3f')} m²K/W."
    )
    if target is not None:
        over = u_value - target
        verdict = f"{'misses' if over > 0 else 'meets'} the target {u_shown(target)}"
        verdict += f" by {spelt(over, '.4f')}" if over > 0 else ""
        words += f" It {verdict}."
    return words
