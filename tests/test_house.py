"""The house rules that a reader should not have to check: who imports whom, how long a module may be."""

from __future__ import annotations

import ast
from collections import Counter
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
# The rooms from the ground up: each may import those before it, never one after it. DEVELOPERS.md draws the same order.
ORDER = (
    "materials",
    "materials/listed",
    "materials/declared",
    "optimiser/locales.py",
    "optimiser/document.py",
    "optimiser/template.py",
    "optimiser/batch.py",
    "optimiser/stopping.py",
    "optimiser/heat",
    "optimiser/moisture",
    "optimiser/strength",
    "optimiser/fill",
    "optimiser/score",
    "optimiser/wall",
    "optimiser/conduction",
    "optimiser/checks/common",
    "optimiser/checks/moisture",
    "optimiser/checks/strength",
    "optimiser/checks/fill",
    "optimiser/checks",
    "optimiser/house",
    "optimiser/brief",
    "optimiser/space",
    "optimiser/verification",
    "optimiser/search",
    "optimiser/market",
    "optimiser/handover/pieces",
    "optimiser/handover/drawing",
    "optimiser/handover/tables",
    "optimiser/handover/filling",
    "optimiser/handover/ordering",
    "optimiser/handover/calculation",
    "optimiser/handover/bim",
    "optimiser/handover",
    "dashboard/numbers.py",
    "dashboard/words.py",
    "dashboard/source.py",
    "dashboard/access.py",
    "dashboard/server.py",
    "dashboard/guide.py",
    "dashboard/pricelists",
    "dashboard/rows",
    "dashboard/wall",
    "dashboard/front",
    "dashboard/suppliers",
    "dashboard/choosing",
    "dashboard/views.py",
    "dashboard/layout.py",
    "dashboard/workspace.py",
    "dashboard/callbacks",
    "dashboard/app.py",
    "optimiser/command",
)


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


def room_of(place: str) -> str:
    """The folder of a module; a module that lies beside the rooms is one of its own."""
    folder = place.rpartition("/")[0]
    return place if folder in ("optimiser", "dashboard") else folder


def module_at(name: str) -> str | None:
    """The place of the module that an imported name is, or is in."""
    stem = name.replace(".", "/")
    places = (f"{each}{end}" for each in (stem, stem.rpartition("/")[0]) for end in (".py", "/__init__.py"))
    return next((each for each in places if each in sources()), None)


def test_every_room_has_its_place_in_the_order():
    rooms = {room_of(place) for place in sources() if not place.endswith("__init__.py")}
    assert rooms == set(ORDER)
    assert len(ORDER) == len(set(ORDER))


def test_rooms_import_only_rooms_below_them():
    def upward(place: str, name: str) -> bool:
        module = module_at(name)
        if module is None or place.endswith("__init__.py") or module.endswith("__init__.py"):
            return False
        return ORDER.index(room_of(module)) > ORDER.index(room_of(place))

    assert sum(module_at(name) is not None for place in sources() for name, _ in imports(place)) > 1000
    assert not offenders(upward)


def test_a_class_has_a_name_of_its_own():
    classes = Counter(
        node.name for text in sources().values() for node in ast.walk(ast.parse(text)) if isinstance(node, ast.ClassDef)
    )
    assert not [name for name, count in classes.items() if count > 1]


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
    """Figures and checks of a wall are one formula each, and both ask them; how to find walls is shared by none."""
    place = "optimiser/search/second_opinion.py"
    assert place in sources()
    assert not offenders(lambda one, name: one == place and within(name, ("optimiser.search",)))


def test_no_module_is_too_long_to_be_read_at_a_sitting():
    lines = {place: len(text.splitlines()) for place, text in sources().items()}
    assert not [f"{place}: {count} lines" for place, count in lines.items() if count > LONGEST]
