"""Numbers on the page in the brief's locale: the one home of their marks, of money, and of what plot and table need."""

from __future__ import annotations

from typing import Any

from flask import Flask, g

from optimiser.locales import DEFAULT, WIDE, marks, spelt, writing, written

__all__ = ["around", "follow", "money", "page_marks", "separators", "spelt", "written"]


def money(value: float, sign: str, digits: int = 0) -> str:
    """An amount with its sign where the locale puts it: '€1,234.5', '1.234,5 €'; a minus in front of both."""
    locale_marks, amount = marks(), spelt(abs(value), f",.{digits}f")
    minus = "−" if value < 0 and amount.strip("0.,’\u00a0\u202f") else ""
    bare = sign.strip()
    if locale_marks.before is None:
        return f"{minus}{amount}{WIDE}{bare}"
    return f"{minus}{bare}{locale_marks.before or sign[len(bare) :]}{amount}"


def around(sign: str) -> tuple[str, str]:
    """What stands before and after an amount of money: ('€', '') or ('', ' €')."""
    before, _, after = money(0, sign).partition("0")
    return before, after


def separators() -> str:
    """Decimal and group mark, as a plotly layout takes them."""
    locale_marks = marks()
    return locale_marks.decimal + locale_marks.group


def page_marks() -> str:
    """Attributes of the page's root that carry the marks to the browser's own functions."""
    locale_marks = marks()
    return f'data-decimal="{locale_marks.decimal}" data-group="{locale_marks.group}"'


def follow(server: Flask, workspace: Any) -> None:
    """Answer every request in the locale of the study's brief."""

    @server.before_request
    def begin() -> None:
        brief = workspace.source(None).brief
        g.writing = writing(getattr(brief, "locale", DEFAULT))
        g.writing.__enter__()

    @server.teardown_request
    def end(_: BaseException | None) -> None:
        started = g.pop("writing", None)
        if started is not None:
            started.__exit__(None, None, None)
