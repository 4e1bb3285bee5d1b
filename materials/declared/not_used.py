"""Declarations that are not used: a record of its own, so that whoever tells of them needs no reader of files."""

from __future__ import annotations

from typing import NamedTuple


class NotUsed(NamedTuple):
    """A declaration, or a part of one, that carries no product's carbon."""

    name: str
    why: str
