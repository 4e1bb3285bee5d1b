"""A console for tables whose lines stay whole where nobody looks at them: in a file, or handed to another program."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console

WIDTH = 400  # letters; a table takes no more than it needs


def wide_console() -> Console:
    """As wide as the terminal; without one as wide as the widest table needs. Text in it is never markup."""
    from rich.console import Console

    width = None if Console().is_terminal else WIDTH
    return Console(highlight=False, markup=False, emoji=False, width=width)
