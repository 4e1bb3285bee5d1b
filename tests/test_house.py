"""The house rules that a reader should not have to check: who imports whom, how long a room may be."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SOURCES = sorted(path for room in ("materials", "optimiser", "dashboard") for path in (ROOT / room).rglob("*.py"))
ALLOWED = {
    "materials": {"materials"},
    "optimiser": {"materials", "optimiser"},
    "dashboard": {"materials", "optimiser", "dashboard"},
}
PHYSICS = [
    str(path.relative_to(ROOT / "optimiser"))
    for room in ("heat", "moisture", "strength")
    for path in sorted((ROOT / "optimiser" / room).glob("*.py"))
]
KNOWN_TO_PHYSICS = ("optimiser.batch", "optimiser.heat", "optimiser.moisture", "optimiser.strength")


def imported(path: Path) -> set[str]:
    """Modules of the project that a file imports, in full, relative ones resolved."""
    package = path.relative_to(ROOT).with_suffix("").parts
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = ".".join(package[: -node.level]) if node.level else ""
            module = ".".join(part for part in (base, node.module or "") if part)
            found |= {f"{module}.{alias.name}" for alias in node.names} | {module}
    return {name for name in found if name.split(".")[0] in ALLOWED}


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_imports_run_one_way(path):
    room = path.relative_to(ROOT).parts[0]
    beyond = {name for name in imported(path) if name.split(".")[0] not in ALLOWED[room]}
    if path == ROOT / "optimiser" / "cli.py":
        # started lazily, by the command only
        beyond -= {name for name in beyond if name.startswith(("dashboard.app", "dashboard.access"))}
    assert not beyond


@pytest.mark.parametrize("name", PHYSICS)
def test_physics_knows_no_products_and_no_search(name):
    known = imported(ROOT / "optimiser" / name)
    assert known <= {each for each in known if each.startswith(KNOWN_TO_PHYSICS) or each == "optimiser"}


def test_only_one_module_knows_pymoo():
    knowing = [path.name for path in SOURCES if re.search(r"^from pymoo|^import pymoo", path.read_text(), re.M)]
    assert knowing == ["evolve.py"]


def test_the_search_and_its_second_opinion_share_no_search_code():
    known = {each for each in imported(ROOT / "optimiser" / "search" / "verify.py") if ".search" in each}
    assert known <= {"optimiser.search"}


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_room_is_not_too_large_to_live_in(path):
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 450
