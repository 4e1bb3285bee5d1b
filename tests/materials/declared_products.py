"""Declarations as the tests hold them: an archive written and read, the product that it belongs to, what is refused."""

from __future__ import annotations

from collections.abc import Callable, Collection
from pathlib import Path
from typing import Any

import pytest
from declaration_files import BOARD, VOLUME, Values, flow_xml, process_xml, write_zip

from materials.catalogue import load_catalogue
from materials.declared.declarations import DeclaredProduct, read_declarations
from materials.errors import InputError
from materials.models import Product

CATALOGUE = load_catalogue()
BOARD_MATERIAL = CATALOGUE.get("wood-fibre-board")


def product(**change: Any) -> Product:
    """A board of 22 mm, or what is changed of it."""
    values = {
        "key": "b-22",
        "name": "board 22",
        "material": "wood-fibre-board",
        "supplier": "Made-up Boards",
        "thickness_mm": 22,
        "price": 9.0,
        "unit": "m2",
        "currency": "EUR",
        "source": "invented",
    }
    return Product(**(values | change))


def read_declaration(path: Path | str, scenario: str | Collection[str] = ()) -> DeclaredProduct:
    """The one declaration that a file holds."""
    (found,) = read_declarations(path, scenario)
    return found


def archive(
    tmp_path: Path,
    values: Values = BOARD,
    quantity: str = VOLUME,
    amount: object = 1.0,
    flow: dict[str, Any] | None = None,
    **process: Any,
) -> DeclaredProduct:
    """A process and its flow in one archive, read."""
    path = write_zip(tmp_path / "a.zip", process_xml(values, **process), flow_xml(quantity, amount, **(flow or {})))
    return read_declaration(path)


def refused(call: Callable[[], object], *words: str) -> str:
    """The message of a call that must be refused; it holds all of the words."""
    with pytest.raises(InputError) as caught:
        call()
    message = str(caught.value)
    for word in words:
        assert word in message, message
    return message
