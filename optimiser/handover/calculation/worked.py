"""The U-value worked out path by path, so that it can be checked by hand: as data and as a piece of HTML."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from html import escape

from ...checks.judge import HeatPath, HeatPaths
from ...locales import spelt

UNIT = "m²K/W"


@dataclass(frozen=True)
class WorkedStep:
    """One step: what it is, the sum as written, what it comes to, and what the summands are."""

    title: str
    sum: str
    result: str
    value: float
    terms: tuple[tuple[int, str, float], ...] = ()  # layer number (0: a surface), words, resistance [m2K/W]


@dataclass(frozen=True)
class Worked:
    """The whole calculation in the order in which a hand would do it."""

    paths: tuple[WorkedStep, ...]
    upper: WorkedStep
    layers: tuple[WorkedStep, ...]
    lower: WorkedStep
    total: WorkedStep
    result: WorkedStep


def worked(heat: HeatPaths) -> Worked:
    """The steps from the paths to U [W/m2K]; sums are shown to 3 decimals and carried on unrounded."""
    heat = replace(heat, paths=_joined(heat.paths))
    paths = tuple(_path(number, each, heat) for number, each in enumerate(heat.paths, 1))
    layers = tuple(_layer(row, heat.paths) for row in heat.lower)
    return Worked(paths, _upper(heat), layers, _lower(heat, layers), _total(heat), _result(heat))


def _r(value: float) -> str:
    return spelt(value, ".3f")


def _share(value: float) -> str:
    return f"{spelt(value * 100, '.2f')} %"


def _in_unit(value: float) -> str:
    return f"{_r(value)} {UNIT}"


def _path(number: int, each: HeatPath, heat: HeatPaths) -> WorkedStep:
    """One path: surface, layer after layer, surface."""
    terms = ((0, "outside surface", heat.r_se), *each.parts, (0, "inside surface", heat.r_si))
    words = " + ".join(_r(value) for _, _, value in terms)
    title = f"Path {number}, {_through(each, heat.paths)}, {_share(each.fraction)} of the area"
    return WorkedStep(title, words, _in_unit(each.resistance), each.resistance, terms)


def _joined(paths: Sequence[HeatPath]) -> list[HeatPath]:
    """Paths that meet the same things, as one; largest share first."""
    shares: dict[tuple, float] = {}
    for each in paths:
        shares[tuple(each.parts)] = shares.get(tuple(each.parts), 0.0) + each.fraction
    resistances = {tuple(each.parts): each.resistance for each in paths}
    joined = [HeatPath(share, resistances[parts], list(parts)) for parts, share in shares.items()]
    return sorted(joined, key=lambda each: -each.fraction)


def _through(each: HeatPath, paths: Sequence[HeatPath]) -> str:
    """A path named by the members it meets: what the widest path does not meet."""
    if len(paths) == 1:
        return "straight through"
    crossed = [part for part in each.parts if part not in paths[0].parts]
    members = [f"{words} in layer {number}" for number, words, _ in crossed]
    return f"through {_listed(members)}" if members else "beside all members"


def _listed(words: list[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def _upper(heat: HeatPaths) -> WorkedStep:
    below = " + ".join(f"{spelt(each.fraction, '.4f')} / {_r(each.resistance)}" for each in heat.paths)
    words = f"1 / ({below})" if len(heat.paths) > 1 else "the one path"
    return WorkedStep(
        "Upper limit R′, the paths side by side", words + _weighed(heat), _in_unit(heat.r_upper), heat.r_upper
    )


def _weighed(heat: HeatPaths) -> str:
    """The interpolation for a slightly ventilated space, in words; '' where there is none."""
    if not heat.ventilated_share:
        return ""
    return (
        f", this weighing {_share(1 - heat.ventilated_share)}, and the same sum without the slightly ventilated space "
        f"and all outside it weighing {_share(heat.ventilated_share)},"
    )


def _layer(row: tuple[int, str, float, float], paths: Sequence[HeatPath]) -> WorkedStep:
    """A layer's own resistance, its fill and its members side by side."""
    number, words, share, value = row
    parts = {(name, r) for path in paths for layer, name, r in path.parts if layer == number}
    fill = [each for each in parts if words.startswith(f"{each[0]}, ")]
    member = [each for each in parts if words.endswith(f", {each[0]}")]
    title = f"Layer {number}, {words}"
    if not (share and fill and member):
        return WorkedStep(title, "", _in_unit(value), value, ((number, words, value),))
    (fill_words, fill_r), (member_words, member_r) = fill[0], member[0]
    shown = f"1 / ({spelt(1 - share, '.4f')} / {_r(fill_r)} + {spelt(share, '.4f')} / {_r(member_r)})"
    terms = ((number, fill_words, fill_r), (number, member_words, member_r))
    return WorkedStep(f"{title}, members {_share(share)}", shown, _in_unit(value), value, terms)


def _lower(heat: HeatPaths, layers: Sequence[WorkedStep]) -> WorkedStep:
    """The layers one after another."""
    words = " + ".join(_r(value) for value in (heat.r_se, *(each.value for each in layers), heat.r_si))
    return WorkedStep("Lower limit R″, layer after layer", words + _weighed(heat), _in_unit(heat.r_lower), heat.r_lower)


def _total(heat: HeatPaths) -> WorkedStep:
    words = f"({_r(heat.r_upper)} + {_r(heat.r_lower)}) / 2"
    return WorkedStep("Total resistance R, the mean of both limits", words, _in_unit(heat.r_total), heat.r_total)


def _result(heat: HeatPaths) -> WorkedStep:
    if heat.refused:
        return WorkedStep("Transmittance U", "", f"not given: {heat.refused}", heat.u_value)
    words = f"1 / {_r(heat.r_total)}" + (f" + {spelt(heat.correction, '.4f')} corrections" if heat.correction else "")
    return WorkedStep("Transmittance U", words, f"{spelt(heat.u_value, '.4f')} W/m²K", heat.u_value)


def worked_html(heat: HeatPaths) -> str:
    """The calculation as numbered paragraphs for the print view; every word in it is escaped."""
    steps = worked(heat)
    parts = ['<section class="worked">', "<h2>The U-value, worked</h2>", f"<p>{escape(_opening(heat))}</p>"]
    parts.append("<h3>Each path through the wall, from outside to inside</h3><ol>")
    parts += [f"<li>{_sentence(each)}{_terms(each)}</li>" for each in steps.paths]
    parts.append(f"</ol><p>{_sentence(steps.upper)}</p>")
    parts.append("<h3>Each layer by itself</h3><ul>")
    parts += [f"<li>{_sentence(each)}</li>" for each in steps.layers]
    parts.append(f"</ul><p>{_sentence(steps.lower)}</p>")
    parts.append(f"<h3>Together</h3><p>{_sentence(steps.total)}</p>")
    parts.append(f'<p class="result">{_sentence(steps.result)}</p><p>{escape(_closing(heat))}</p></section>')
    return "".join(parts)


def _sentence(step: WorkedStep) -> str:
    shown = f"{step.sum} = " if step.sum else ""
    return f"<b>{escape(step.title)}:</b> {escape(shown)}<strong>{escape(step.result)}</strong>"


def _terms(step: WorkedStep) -> str:
    """What the summands are, in the same order."""
    words = [f"{_r(value)} {f'layer {number}, ' if number else ''}{name}" for number, name, value in step.terms]
    return f'<br><span class="terms">{escape("; ".join(words))}</span>'


def _opening(heat: HeatPaths) -> str:
    count = len(_joined(heat.paths))
    paths = "one path" if count == 1 else f"{count} paths"
    return (
        f"Combined method of ISO 6946, {paths}. Resistances in {UNIT}: thickness over design conductivity; "
        f"surfaces {spelt(heat.r_se, '.2f')} outside and {spelt(heat.r_si, '.2f')} inside. "
        "Figures are rounded for print only."
    )


def _closing(heat: HeatPaths) -> str:
    return (
        "The true resistance of this geometry lies between the two limits; "
        f"the method's largest error here is {spelt(heat.relative_error * 100, '.1f')} %."
    )
