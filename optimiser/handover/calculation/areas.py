"""How the shares of the area come about: members on one line overlap as they stand, and the rest lies between them.

The geometry is that of `heat/overlap.py`, written out: stretches between the edges of the members, seen along the wall;
ties fill part of the height; plates, noggings and openings take area from the clear stretch.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from ...batch import WallBatch
from ...brief.brief import Brief
from ...document import DocumentTable, exact, listed, number
from ...template import BATTENS
from ...wall.buildup import BuildUp, Frame, Layer, tie_frames

SMALLEST = 1e-9  # mm; less is the noise of binary fractions


@dataclass(frozen=True)
class Share:
    """One way through the members of a line: its name in sums, the layers whose member it meets, its share, how."""

    key: str
    inside: frozenset[int]
    share: float
    how: str


@dataclass(frozen=True)
class MemberLine:
    """Members on one axis and spacing with every way through them; `letter` begins the names of their shares."""

    letter: str
    about: str  # axis and spacing
    sizes: str  # of the members, with what stands besides
    layers: tuple[int, ...]
    shares: tuple[Share, ...]
    nouns: dict[int, str] = field(default_factory=dict)

    @property
    def table(self) -> DocumentTable:
        rows = [(each.key, self._met(each.inside), each.how, number(each.share, 5)) for each in self.shares]
        total = ("", "", "together", number(sum(each.share for each in self.shares), 5))
        caption = f"Shares {self.letter}: {self.about}"  # its sizes stand before it
        heads = ("share", "through", "how", "of the area")
        return DocumentTable(caption, heads, (*rows, total), words=3, totals=1, widths=(1, 4, 6, 1.4))

    def _met(self, inside: frozenset[int]) -> str:
        met = [f"{self.nouns[layer]} in {layer + 1}" for layer in sorted(inside)]
        return listed(met) if met else "none of them"


def member_noun(layer: Layer) -> str:
    """What the members of a layer are called."""
    if layer.tie is not None:
        return "ties"
    upright = layer.frame is None or layer.frame.axis == "vertical"
    return "studs" if upright and layer.role not in BATTENS else "battens"


def lines_of(wall: BuildUp, batch: WallBatch, brief: Brief | None = None) -> tuple[MemberLine, ...]:
    """Every line of a batch of one. brief: what its framing says of plates, noggings and openings is told."""
    lines = []
    for letter, line in zip("abcdefghijklmnopqrstuvwxyz", batch.lines, strict=False):
        layers = tuple(batch.members[number].layer for number in line)
        lines.append(_line(wall, letter, layers, brief))
    return tuple(lines)


def _line(wall: BuildUp, letter: str, layers: tuple[int, ...], brief: Brief | None) -> MemberLine:
    nouns = {at: member_noun(wall.layers[at]) for at in layers}
    frame = _frame(wall, layers[0])
    if frame.fraction is not None:
        about, sizes = f"members of layer {layers[0] + 1}, given as a share of the area", ""
        ways = [
            (frozenset(), 1 - frame.fraction, f"1 − {exact(frame.fraction)}"),
            (frozenset(layers), frame.fraction, f"given: {exact(frame.fraction)}"),
        ]
    else:
        members = [f"{_size(wall, at)} in {at + 1}" for at in layers]
        about = f"{frame.axis} members every {exact(frame.spacing_mm)} mm"
        sizes = f"Of shares {letter}: {listed(members)}{_plates(wall, layers, brief)}."
        ways = _shares(wall, layers, frame.spacing_mm)
    ways = sorted((each for each in ways if each[1] > 1e-12), key=lambda each: -each[1])
    shares = tuple(Share(f"{letter}{at}", *each) for at, each in enumerate(ways, 1))
    return MemberLine(letter, about, sizes, layers, shares, nouns)


def _frame(wall: BuildUp, at: int) -> Frame:
    layer = wall.layers[at]
    return tie_frames(wall.layers, at)[0] if layer.tie is not None else layer.frame


def _size(wall: BuildUp, at: int) -> str:
    """A member with what its share needs: '45 mm studs', '12 mm ties, 200 high every 1200'."""
    layer = wall.layers[at]
    if layer.tie is not None:
        tie = layer.tie
        high = f"{exact(tie.height_mm)} of every {exact(tie.vertical_spacing_mm)} mm of height"
        return f"{exact(tie.thickness_mm)} mm ties ({high}; what laps the studs is no bridge)"
    offset = f" (offset {exact(layer.frame.offset_mm)} mm)" if layer.frame.offset_mm else ""
    return f"{exact(layer.frame.width_mm)} mm {member_noun(layer)}{offset}"


def _plates(wall: BuildUp, layers: Sequence[int], brief: Brief | None) -> str:
    """What stands besides the studs, in words; how the share comes about where the brief's framing gives it."""
    extras = {at: _frame_extra(wall, at) for at in layers if _frame_extra(wall, at)}
    if not extras:
        return ""
    terms = []
    for at, extra in extras.items():
        frame = wall.layers[at].frame
        how = exact(extra)
        framing = None if brief is None or brief.framing.fraction is not None else brief.framing
        if framing and abs(framing.extra_fraction(frame.width_mm, frame.spacing_mm) - extra) < 1e-9:
            width, high = exact(frame.width_mm), exact(framing.height_mm)
            how = f"{framing.plates} × {width} / {high}"
            if framing.nogging_rows:
                how += f" + {framing.nogging_rows} × {width} / {high} × (1 − {width} / {exact(frame.spacing_mm)})"
            further = f" + {exact(framing.further_fraction)}" if framing.further_fraction else ""
            how += f" + {exact(framing.openings_fraction)}{further} = {number(extra, 5)}"
        terms.append(f"{how} in {at + 1}")
    return f"; plates, noggings, members round openings and further ones besides: {listed(terms)}"


def _frame_extra(wall: BuildUp, at: int) -> float:
    frame = wall.layers[at].frame
    return 0.0 if frame is None else frame.extra_fraction


def _shares(wall: BuildUp, layers: Sequence[int], spacing: float) -> list[tuple[frozenset[int], float, str]]:
    """(layers met, share, how) of every way through the members of one line."""
    shares: dict[frozenset[int], tuple[float, list[str]]] = {}
    for inside, lengths in _stretches(wall, layers, spacing).items():
        base = f"({' + '.join(lengths.words)})" if len(lengths.words) > 1 else lengths.words[0]
        ways = [(inside, lengths.total / spacing, f"{base} / {exact(spacing)}")]
        for at in sorted(inside):
            tie = wall.layers[at].tie
            if tie is not None and tie.height_mm < tie.vertical_spacing_mm:
                ways = [each for way in ways for each in _with_and_without(way, at, tie)]
        for met, share, how in ways:
            total, words = shares.get(met, (0.0, []))
            shares[met] = (total + share, [*words, how])
    extras = {at: _frame_extra(wall, at) for at in layers}
    largest = max(extras.values())
    if largest:
        _take(shares, largest)
        below = 0.0
        for step in sorted({each for each in extras.values() if each}):
            met = frozenset(at for at, extra in extras.items() if extra >= step)
            total, words = shares.get(met, (0.0, []))
            how = number(step, 5) if not below else f"({number(step, 5)} − {number(below, 5)})"
            shares[met] = (total + step - below, [*words, f"{how} plates, noggings, openings"])
            below = step
    return [(inside, share, " + ".join(words)) for inside, (share, words) in shares.items()]


def _take(shares: dict[frozenset[int], tuple[float, list[str]]], extra: float) -> None:
    """Plates, noggings and openings lie in the clear stretch."""
    clear = frozenset()
    if clear in shares:
        total, words = shares[clear]
        shares[clear] = (total - extra, [f"{' + '.join(words)} − {number(extra, 5)} plates, noggings, openings"])


def _with_and_without(way: tuple[frozenset[int], float, str], at: int, tie) -> list[tuple[frozenset[int], float, str]]:
    """A tie fills part of the height: the stretch with it, and without."""
    inside, share, how = way
    part = tie.height_mm / tie.vertical_spacing_mm
    words = f"{exact(tie.height_mm)} / {exact(tie.vertical_spacing_mm)}"
    return [
        (inside, share * part, f"{how} × {words}"),
        (inside - {at}, share * (1 - part), f"{how} × (1 − {words})"),
    ]


@dataclass
class _Lengths:
    total: float = 0.0
    words: list[str] = field(default_factory=list)


def _stretches(wall: BuildUp, layers: Sequence[int], spacing: float) -> dict[frozenset[int], _Lengths]:
    """Lengths [mm] between the edges of the members of one bay, by the layers whose member covers them."""
    spans = {}
    for at in layers:
        layer = wall.layers[at]
        width = layer.tie.thickness_mm if layer.tie is not None else layer.frame.width_mm
        spans[at] = (_frame(wall, at).offset_mm, width)
    edges = sorted({round(each, 9) for centre, width in spans.values() for each in _edges(centre, width, spacing)})
    stretches: dict[frozenset[int], _Lengths] = {}
    for low, high in zip(edges, [*edges[1:], edges[0] + spacing], strict=True):
        if high - low < SMALLEST:
            continue
        middle = (low + high) / 2
        inside = frozenset(at for at, (centre, width) in spans.items() if _away(middle, centre, spacing) < width / 2)
        lengths = stretches.setdefault(inside, _Lengths())
        lengths.total += high - low
        lengths.words.append(exact(high - low))
    return stretches


def _edges(centre: float, width: float, spacing: float) -> tuple[float, float]:
    return (centre - width / 2) % spacing, (centre + width / 2) % spacing


def _away(place: float, centre: float, spacing: float) -> float:
    """Distance [mm] from the nearest member of a row."""
    return abs((place - centre + spacing / 2) % spacing - spacing / 2)
