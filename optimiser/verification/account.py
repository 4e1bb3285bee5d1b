"""What a study says of itself, in `study.json`, held to its brief, its rows and the space of its brief."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from ..space.choices import Choices
from ..space.left_out import DECLARATIONS, left_out
from ..template import VARIABLES
from .refusal import SUMMARY, Refusal

SAME = 1e-9  # of shares


def account(
    summary: Mapping[str, Any], choices: Choices, digests: Mapping[str, str], size: int, rows: int
) -> list[Refusal]:
    """What does not fit. digests: of the lists and declarations as they are read now; size: walls of the space."""
    brief = choices.brief
    gives = {
        "targets": list(brief.target.all),
        "objectives": list(brief.objectives.minimise),
        "limits": brief.limits.model_dump(exclude_none=True),
        "currency": brief.prices.currency,
        "seed": brief.seed.value,
        "space_size": size,
        "options": {name: int(count) for name, count in zip(VARIABLES, choices.sizes, strict=True)},
        "front_size": rows,
    }
    out = [
        _refused(key, f"{_short(summary.get(key))}; expected {_short(value)}")
        for key, value in gives.items()
        if not _same(summary.get(key), value)
    ]
    if summary.get("catalogue") != choices.catalogue.digest:
        out.append(_refused("catalogue", "the search read another catalogue than the one at hand"))
    lists = summary.get("price_lists")
    if not isinstance(lists, dict) or set(map(str, lists.values())) != set(digests.values()):
        out.append(_refused("price_lists", "the search read other price lists or declarations than those of the study"))
    out += _left_out(summary, choices)
    return out + [_refused(*each) for each in _proofs(summary, brief.target.all, size)]


def _left_out(summary: Mapping[str, Any], choices: Choices) -> list[Refusal]:
    """What was left out is what is left out now; declarations apart, whose files have other names in a study."""
    written = summary.get("left_out")
    if written is None:  # an older study says nothing of it
        return []
    now = [each.as_json() for each in left_out(choices.brief, choices.catalogue, choices.pricing)]
    then, now = ([each for each in lines if each["subject"] != DECLARATIONS] for lines in (written, now))
    return [] if then == now else [_refused("left_out", f"{_short(then)}; expected {_short(now)}")]


def _proofs(summary: Mapping[str, Any], targets: tuple[float, ...], size: int) -> Iterator[tuple[str, str]]:
    """Whether the proofs add up, and `complete` says what they prove."""
    proofs = summary.get("proof")
    if not isinstance(proofs, list) or not all(_is_proof(each) for each in proofs):
        yield "proof", "expected a list with target, share, evaluated and excluded, in numbers"
        return
    of = [each["target"] for each in proofs]
    if len(set(of)) < len(of) or not set(of) <= set(targets):
        yield "proof", f"is of U at most {_short(of)}; the brief asks for {_short(list(targets))}"
    for each in proofs:
        settled = each["evaluated"] + sum(each["excluded"].values())
        if abs(settled / size - each["share"]) > SAME if size else each["share"] != 1:
            words = f"U at most {each['target']:g}: {settled} of {size} walls settled, which is no share of"
            yield "proof", f"{words} {each['share']:.12g}"
        elif each["share"] == 1 and settled != size:
            yield "proof", f"U at most {each['target']:g}: {settled} walls settled; the space has {size}"
    proven = set(of) == set(targets) and all(each["share"] == 1 for each in proofs)
    if summary.get("complete") is not proven:
        yield "complete", f"{_short(summary.get('complete'))}; by the shares of its proof expected {_short(proven)}"


def _is_proof(each: Any) -> bool:
    if not isinstance(each, dict) or not isinstance(each.get("excluded"), dict):
        return False
    counts = [each.get("evaluated"), *each["excluded"].values()]
    numbers = [each.get("target"), each.get("share")]
    return all(_number(one, int) for one in counts) and all(_number(one, int | float) for one in numbers)


def _number(value: Any, kind: Any) -> bool:
    return isinstance(value, kind) and not isinstance(value, bool) and value >= 0


def _same(said: Any, value: Any) -> bool:
    return said == value and isinstance(said, bool) == isinstance(value, bool)


def _refused(key: str, reason: str) -> Refusal:
    return Refusal(SUMMARY, None, key, reason)


def _short(value: Any) -> str:
    """A value for a message, as JSON would have it."""
    words = {True: "true", False: "false", None: "nothing"}
    return words[value] if value is None or isinstance(value, bool) else str(value)
