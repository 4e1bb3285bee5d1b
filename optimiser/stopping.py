"""Stopping long work on the way: whoever runs it says how to tell, its loops ask, however deep they lie."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TypeVar

EVERY = 0.05  # s between two looks: `stop` may read a file
NO_STOP: Callable[[], bool] = lambda: False  # noqa: E731

Step = TypeVar("Step")


class Stopped(Exception):
    """Work was stopped on the way."""


class _Question:
    """What is asked whether to stop, and when next."""

    def __init__(self, stop: Callable[[], bool]) -> None:
        self.stop, self.next = stop, 0.0


_QUESTION: ContextVar[_Question | None] = ContextVar("_QUESTION", default=None)


@contextmanager
def stoppable(stop: Callable[[], bool]) -> Iterator[None]:
    """Within this block `ask` raises Stopped once `stop` says so."""
    before = _QUESTION.set(_Question(stop))
    try:
        yield
    finally:
        _QUESTION.reset(before)


def ask() -> None:
    """Stopped where the work under way is to stop; cheap enough for any loop whose rounds take a millisecond."""
    question = _QUESTION.get()
    if question is None:
        return
    now = time.monotonic()
    if now >= question.next:
        if question.stop():
            raise Stopped
        question.next = now + EVERY


def stepwise(steps: Iterator[Step], stop: Callable[[], bool]) -> Iterator[Step]:
    """The same steps, each of them stoppable; what their receiver does between them is not."""
    while True:
        with stoppable(stop):
            try:
                step = next(steps)
            except StopIteration:
                return
        yield step


def pieces(count: int, size: int) -> Iterator[slice]:
    """So many rows in pieces of a size at most, asked before each whether to stop."""
    for start in range(0, count, size):
        ask()
        yield slice(start, min(start + size, count))
