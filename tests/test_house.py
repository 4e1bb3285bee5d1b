"""The house rules that a reader should not have to check: who imports whom, how long a module may be."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[1]
ALLOWED = {
    "materials": {"materials"},
    "optimiser": {"materials", "optimiser"},
    "dashboard": {"materials", "optimiser", "dashboard"},
}
COMMAND = "optimiser/command/cli.py"  # starts the explorer, and so may know these two of it
STARTED_BY_THE_COMMAND = ("dashboard.app", "dashboard.access")
PHYSICS = ("heat", "moisture", "strength")
KNOWN_TO_PHYSICS = ("optimiser.batch", *(f"optimiser.{room}" for room in PHYSICS))
LONGEST = 400  # lines of a module


@cache
def sources() -> dict[str, str]:
    """Text by place of every module of the project."""
    paths = sorted(path for room in ALLOWED for path in (ROOT / room).rglob("*.py"))
    return {path.relative_to(ROOT).as_posix(): path.read_text(encoding="utf-8") for path in paths}


@cache
def imports(place: str) -> tuple[tuple[str, int], ...]:
    """What a file imports, in full, relative ones resolved: (module or name in it, line)."""
    package = Path(place).parts
    found = []
    for node in ast.walk(ast.parse(sources()[place])):
        if isinstance(node, ast.Import):
            found += [(alias.name, node.lineno) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = ".".join(package[: -node.level]) if node.level else ""
            module = ".".join(part for part in (base, node.module) if part)
            found += [(f"{module}.{alias.name}", node.lineno) for alias in node.names]
    return tuple(found)


def offenders(refused) -> list[str]:
    """File, line and name of every import that is refused; `refused` is asked (place, name)."""
    return [f"{place}:{line}: {name}" for place in sources() for name, line in imports(place) if refused(place, name)]


def within(name: str, modules: tuple[str, ...]) -> bool:
    return any(name == each or name.startswith(f"{each}.") for each in modules)


def test_imports_run_one_way():
    def backwards(place: str, name: str) -> bool:
        room, known = place.split("/")[0], name.split(".")[0]
        if place == COMMAND and within(name, STARTED_BY_THE_COMMAND):
            return False
        return known in ALLOWED and known not in ALLOWED[room]

    assert not offenders(backwards)


def test_physics_knows_no_products_and_no_search():
    rooms = tuple(f"optimiser/{room}/" for room in PHYSICS)

    def beyond(place: str, name: str) -> bool:
        ours = name.split(".")[0] in ALLOWED
        return place.startswith(rooms) and ours and not within(name, KNOWN_TO_PHYSICS)

    assert sum(place.startswith(rooms) for place in sources()) >= 10
    assert not offenders(beyond)


def test_only_one_module_starts_python():
    """Elsewhere a worker would look for modules in the current folder first."""
    assert [place for place, text in sources().items() if "sys.executable" in text] == ["optimiser/search/processes.py"]


def test_only_one_module_knows_pymoo():
    assert {each.split(":")[0] for each in offenders(lambda _, name: within(name, ("pymoo",)))} == {
        "optimiser/search/evolution.py"
    }


def test_the_search_and_its_second_opinion_share_no_search_code():
    """Which walls pass the brief's checks is one formula, and both ask it; how to find them is shared by none."""

    def shared(place: str, name: str) -> bool:
        ours = place == "optimiser/search/second_opinion.py" and within(name, ("optimiser.search",))
        return ours and not within(name, ("optimiser.search.judgements",))

    assert "optimiser/search/second_opinion.py" in sources()
    assert not offenders(shared)


def test_no_module_is_too_long_to_be_read_at_a_sitting():
    lines = {place: len(text.splitlines()) for place, text in sources().items()}
    assert not [f"{place}: {count} lines" for place, count in lines.items() if count > LONGEST]
