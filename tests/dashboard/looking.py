"""How tests look at a page: they wait for what it must come to, and never for a stretch of time."""

from __future__ import annotations

import time

PATIENCE = 30.0  # s that a page may take on a busy machine
QUIET_LOOKS = 3  # in a row, LOOK apart, before a page counts as being at rest
LOOK = 0.06  # s
BUSY = """() => {
    if (!window.store) { return true; }
    const waiting = {...window.store.getState().callbacks};
    delete waiting.stored;
    delete waiting.completed;
    return Object.values(waiting).some(each => each.length > 0);
}"""  # as Dash's own testing tools ask it


def until(page, question: str, seconds: float = PATIENCE) -> None:
    """Wait until a question to the page is answered with yes."""
    end = time.monotonic() + seconds
    while not _answer(page, question):
        assert time.monotonic() < end, f"never true: {question}"
        time.sleep(0.05)


def _answer(page, question: str) -> bool:
    """What the page says; no while it is on its way to another address."""
    from playwright.sync_api import Error

    try:
        return bool(page.evaluate(question))
    except Error as error:
        if "context was destroyed" not in str(error):
            raise
        return False


def at_rest(page, seconds: float = PATIENCE) -> None:
    """Wait until nothing that the page asked for is still to come."""
    end, quiet = time.monotonic() + seconds, 0
    while quiet < QUIET_LOOKS:
        quiet = 0 if page.evaluate(BUSY) else quiet + 1
        assert time.monotonic() < end, "the page never came to rest"
        time.sleep(LOOK)
