"""The few SVG elements that drawings need, as text; every string that people wrote is escaped here."""

from __future__ import annotations

from collections.abc import Iterable
from xml.sax.saxutils import escape, quoteattr

from ...locales import written


def number(value: float) -> str:
    """A coordinate [px] with at most two decimals, written one way only so that bytes repeat."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def millimetres(value: float) -> str:
    """A length [mm] for people: whole, or to the half or tenth where it has one."""
    return written(f"{value:.1f}".removesuffix(".0"))


def clean(text: object) -> str:
    """Text for XML: escaped, and without the control characters that XML forbids."""
    allowed = "".join(sign for sign in str(text) if sign >= " " and sign not in "\ufffe\uffff")
    return escape(allowed.encode("utf-8", "ignore").decode("utf-8"))


def attributes(**values: object) -> str:
    """' key="value"' for each; underscores become hyphens, a trailing one is dropped, None is left out."""
    shown = ""
    for key, value in values.items():
        if value is None:
            continue
        written = number(value) if isinstance(value, float) else str(value)
        shown += f" {key.rstrip('_').replace('_', '-')}={quoteattr(written)}"
    return shown


def element(tag: str, *inside: str, **values: object) -> str:
    """One element with what it holds."""
    body = "".join(inside)
    return f"<{tag}{attributes(**values)}>{body}</{tag}>" if body else f"<{tag}{attributes(**values)}/>"


def rect(x0: float, y0: float, x1: float, y1: float, class_: str, **more: object) -> str:
    """A rectangle between two corners [px]."""
    size = {"width": float(x1 - x0), "height": float(y1 - y0)}
    return element("rect", x=float(x0), y=float(y0), **size, class_=class_, **more)


def line(x0: float, y0: float, x1: float, y1: float, class_: str) -> str:
    """A straight line [px]."""
    return element("line", x1=float(x0), y1=float(y0), x2=float(x1), y2=float(y1), class_=class_)


def path(points: Iterable[tuple[float, float]], class_: str, *, closed: bool = False) -> str:
    """A line through points [px]."""
    steps = " L".join(f"{number(x)} {number(y)}" for x, y in points)
    return element("path", d=f"M{steps}" + ("Z" if closed else ""), class_=class_)


def text(x: float, y: float, words: object, class_: str, anchor: str = "middle", **more: object) -> str:
    """Words at a point [px]."""
    return element("text", clean(words), x=float(x), y=float(y), class_=class_, text_anchor=anchor, **more)


def text_width(words: str, size: float) -> float:
    """An upper estimate of the width [px] of words set in a system sans of that size [px]."""
    return 0.58 * size * len(words)
