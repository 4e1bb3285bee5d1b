"""The readers of files from outside: good samples of what each takes, and how far each is followed."""

from __future__ import annotations

import shutil
import sys
import tomllib
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from optimiser.search.landmarks import standing_out

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parent / name) for name in ("spaces", "handover", "materials", "optimiser")]

import tomli_w  # noqa: E402
import toy_space as small  # noqa: E402
from declaration_files import process_json, process_xml, write_json, write_zip  # noqa: E402
from price_tables import BATT, BOARD, FILL, MEMBRANE, SCREW, TIMBER, csv_bytes, grid, workbook_bytes  # noqa: E402
from written_brief import TEXT  # noqa: E402
from written_weather import weather_file, weather_lines  # noqa: E402

from materials.catalogue import load_catalogue  # noqa: E402
from materials.declared.declarations import read_declarations  # noqa: E402
from materials.errors import InputError  # noqa: E402
from materials.listed.prices import read_prices  # noqa: E402
from optimiser.brief.brief import brief_to_toml, read_brief  # noqa: E402
from optimiser.checks.judge import judge  # noqa: E402
from optimiser.command.cli import demo_brief, naming  # noqa: E402
from optimiser.search import files  # noqa: E402
from optimiser.wall.buildup import read_buildup  # noqa: E402
from optimiser.wall.weather import monthly_means  # noqa: E402

MAPPING = """skip_rows = 0
encoding = "utf-8"
separator = ","
decimal = "."
date_format = "DD.MM.YYYY"
ignore = ["remark"]
[columns]
"Article" = "product"
"Preis" = "price"
[defaults]
currency = "EUR"
[units]
"qm" = "m2"
[materials]
"Platte" = "osb"
"""
WALL = """name = "a wall"
outside = "vented"
[materials.my-fill]
like = "blown-cellulose"
conductivity_declared_w_mk = 0.038
conversion = { moisture = 1.03, temperature = 1.0, ageing = 1.0 }
density_kg_m3 = 50
[[layer]]
role = "outer frame"
material = "my-fill"
thickness_mm = 195
[layer.frame]
material = "softwood-c24"
width_mm = 45
spacing_mm = 600
axis = "vertical"
extra_fraction = 0.05
[[layer]]
role = "gap"
material = "my-fill"
thickness_mm = 100
[layer.tie]
material = "tie-plywood"
thickness_mm = 12
height_mm = 200
vertical_spacing_mm = 1200
overlap_mm = 80
[[layer]]
role = "inner frame"
material = "my-fill"
thickness_mm = 95
[layer.frame]
material = "softwood-c24"
width_mm = 45
spacing_mm = 600
[[layer]]
role = "airtight layer"
material = "airtight-paper"
thickness_mm = 0.5
[[layer]]
role = "lining"
material = "plasterboard"
thickness_mm = 12.5
[conditions]
indoor_humidity_class = 2
outdoor_temperature_c = [-4, -3, 1, 6, 11, 15, 17, 16, 12, 7, 2, -2]
outdoor_rh_percent = [85, 84, 80, 74, 70, 69, 72, 75, 79, 83, 88, 90]
[loads]
height_mm = 2700
permanent_kn_m = 10
imposed_kn_m = 5
snow_kn_m = 2
wind_kn_m2 = 0.8
[corrections]
air_gap_level = 1
air_gap_layer = "outer frame"
fastener = [{ layer = "lining", number_per_m2 = 4.1, conductivity_w_mk = 50, diameter_mm = 5 }]
point = [{ number_per_m2 = 2, chi_w_k = 0.001 }]
"""


@dataclass(frozen=True)
class Reader:
    """make: writes the samples into a folder; names: those that are made bad; read: what a user's command does."""

    name: str
    names: tuple[str, ...]
    make: Callable[[Path], None]
    read: Callable[[Path], None]
    cleans: bool = field(default=False)  # reading may leave other files behind, so that all are put back

    def put_back(self, good: Path, place: Path, name: str, data: bytes) -> None:
        if self.cleans:
            shutil.rmtree(place)
            shutil.copytree(good, place)
        else:
            (place / name).write_bytes(data)


def each(folder: Path, names: tuple[str, ...], read: Callable[[Path], object]) -> None:
    """Every sample read; the first refusal is told once all have been."""
    refused = None
    for name in names:
        try:
            read(folder / name)
        except InputError as error:
            assert name in str(error), f"no file is named: {error}"
            refused = error
    if refused is not None:
        raise refused


def texts(**by_name: str) -> Callable[[Path], None]:
    def make(folder: Path) -> None:
        folder.mkdir(parents=True)
        for name, text in by_name.items():
            (folder / f"{name}.toml").write_text(text, encoding="utf-8")

    return make


# -- materials


def make_lists(folder: Path) -> None:
    folder.mkdir(parents=True)
    rows = grid(BOARD, TIMBER, FILL, MEMBRANE, SCREW, BATT)
    (folder / "list.csv").write_bytes(csv_bytes(rows))


def make_workbook(folder: Path) -> None:
    folder.mkdir(parents=True)
    rows = grid(BOARD, TIMBER, FILL, MEMBRANE, SCREW, BATT)
    (folder / "list.xlsx").write_bytes(workbook_bytes(cover=[["prices of"]], boards=rows, more=[rows[0]]))


def make_mapping(folder: Path) -> None:
    folder.mkdir(parents=True)
    rows = grid({key: value for key, value in BOARD.items() if key != "currency"})
    words = {"product": "Article", "price": "Preis"}
    rows[0] = [words.get(name, name) for name in rows[0]] + ["remark"]
    rows[1:] = [
        ["Platte" if cell == "osb" else "qm" if cell == "m2" else cell for cell in row] + ["-"] for row in rows[1:]
    ]
    (folder / "list.csv").write_bytes(csv_bytes(rows))
    (folder / "list.toml").write_text(MAPPING, encoding="utf-8")


def read_list(path: Path) -> None:
    listing = read_prices(path, load_catalogue())
    words = [str(fault) for fault in listing.faults]
    assert all(path.name in line for line in words)


def read_mapped(folder: Path) -> None:
    read_list(folder / "list.csv")


def make_declarations(folder: Path) -> None:
    folder.mkdir(parents=True)
    write_json(folder / "a.json", process_json())
    write_zip(folder / "b.zip", process_xml())
    (folder / "c.xml").write_text(process_xml(), encoding="utf-8")


# -- walls and briefs


def read_wall(path: Path) -> None:
    wall = read_buildup(path, load_catalogue())
    with naming(path):  # as the command does
        judge(wall).as_json()


@cache
def filled_wall():
    from house_walls import twin

    return twin()


def make_sheets(folder: Path) -> None:
    from test_as_filled import written

    folder.mkdir(parents=True)
    for kind in ("csv", "xlsx"):
        written(folder, filled_wall(), kind=kind)


def read_sheet(path: Path) -> None:
    from optimiser.handover.filling.as_filled import as_filled, as_filled_words

    as_filled_words(as_filled(path, filled_wall()))


def make_ifc(folder: Path) -> None:
    from house_walls import twin

    from optimiser.handover.bim.wall_type import wall_type_ifc

    folder.mkdir(parents=True)
    (folder / "wall.ifc").write_bytes(wall_type_ifc(judge(twin())))


def read_ifc(folder: Path) -> None:
    from optimiser.handover.bim.wall_type import read_wall_type

    read_wall_type((folder / "wall.ifc").read_bytes())


# -- studies


@cache
def study_made(home: Path) -> Path:
    """A small study of two targets with price lists, its suppliers compared, and decisions and runs beside it."""
    from dashboard.choosing.decisions import Decisions
    from optimiser.market.suppliers_worker import PARTS, compare
    from optimiser.search.run import save, search
    from optimiser.search.study import CLOUD, open_study, to_csv

    home.mkdir(parents=True)
    slots = {"outer board": {"lock": "none"}, "inner frame": {"lock": "t-95"}, "service zone": {"lock": "none"}}
    slots |= {"fill": {"allow": ["f-cel", "f-gw"]}, "sheathing": {"allow": ["none", "o-9"]}}
    brief = small.brief_in(
        home / "brief",
        slots=small.SMALL["slots"] | slots,
        target={"u_value": 0.13, "also": [0.12]},
        search={"population": 40, "generations": 4},
        **{key: small.SOUND[key] for key in ("climate", "checks", "moisture", "filling", "loads")},
    )
    outcome = search(brief, home / "brief")
    assert outcome.has_front
    save(outcome, home / "brief", home / "study")
    compare(home / "study", brief.target.u_value, PARTS)
    opened = open_study(home / "study")
    cloud = [{key: row[key] for key in CLOUD} for row in opened.rows]
    (home / "study" / "cloud.csv").write_text(to_csv(cloud), encoding="utf-8")
    first, second = opened.rows[0], opened.rows[-1]
    if not (home / "study" / "equals.csv").exists():
        (home / "study" / "equals.csv").write_text(to_csv([first]), encoding="utf-8")
    if not (home / "study" / "ruled_out.csv").exists():
        rows = [{"target": first["target"], "check": "moisture", "reason": "too wet"}]
        (home / "study" / "ruled_out.csv").write_text(to_csv(rows), encoding="utf-8")
    decisions = Decisions(home / "study-runs")
    decisions.keep(None, first["id"])
    decisions.keep(None, second["id"])
    decisions.note(None, first["id"], "thin")
    decisions.save_limits("set", {"thickness_mm": [100.0, 400.0]})
    run = home / "study-runs" / "0001"
    run.mkdir()
    shutil.copytree(home / "study" / "prices", run / "prices")
    shutil.copyfile(home / "study" / "brief.toml", run / "brief.toml")
    progress = {"target": 0.13, "generation": 3, "generations": 4, "evaluations": 900, "front_size": 9, "seconds": 1.5}
    progress |= {"best_thickness_mm": 300.0, "hypervolume": 0.5, "settled": 0.25, "still": {"thickness_mm": 250.0}}
    files.write_json(run / "state.json", {"status": "cancelled", "message": "", "pid": 1, "progress": progress})
    files.write_json(run / "partial.json", opened.rows[:8])
    return home


def make_study(folder: Path) -> None:
    shutil.copytree(study_made(folder.parent / "study-made"), folder)
    shutil.rmtree(folder / "brief")


def looked_at(folder: Path, run: str | None = None) -> None:
    """What the explorer shows of a study or a run; its message raised where it shows nothing."""
    from dashboard.choosing.plot_view import PlotView
    from dashboard.front.front_rows import cloud_of, noun_options
    from dashboard.front.proof_part import proof
    from dashboard.front.proof_words import proof_of
    from dashboard.front.search_words import announcement, result_words, status_words
    from dashboard.wall.conduction_part import proof_line
    from dashboard.workspace import Workspace

    workspace = Workspace(folder / "study", folder / "study-runs")
    source = workspace.source(run)
    said = [*status_words(source), *result_words(source)]
    announcement(source, None, 0.0)
    if source.status == "missing":
        raise InputError(" ".join(said))
    rows = PlotView(run=run).rows(workspace)
    noun_options(rows.whole)
    standing_out(rows.whole)
    for target in source.brief.target.all:
        cloud_of(source, target)
        proof(source.summary, proof_of(source.summary, target), source.currency, workspace.ruled_out(run, target))
    proof_line(source.summary, len(source.rows))
    compared(workspace, source)
    for row in source.rows[:2] + source.rows[-1:]:
        workspace.equals(run, row["id"])
        workspace.steps(run, row["id"])
        workspace.wall(run, row["id"])


def compared(workspace, source) -> None:
    """The view of the suppliers."""
    from dashboard.front.plot_axes import Look
    from dashboard.suppliers import comparison_view as view
    from dashboard.suppliers.comparisons import LEVERS

    target = source.brief.target.u_value
    known, state = workspace.comparing.compared(source, target), workspace.comparing.state(source)
    view.status_view(source, state, known, None)
    shown = view.overview(source, known, target, None)
    for case in shown["options"]:
        look = Look("thickness_mm", "cost_per_m2", "carbon_kgco2e_m2", (), "light", 700.0, currency="EUR")
        view.case_view(source, known, target, look, case["value"], None, {"case": case["value"], "at": 0})
    for lever in LEVERS:
        view.break_even_view(known, lever, None, "EUR")


def read_decisions(folder: Path) -> None:
    from dashboard.choosing.decisions import Decisions

    decisions = Decisions(folder / "study-runs")
    board = decisions.board()
    decisions.undo()
    decisions.redo()
    decisions.keep(None, "W-999")
    if board.trouble:
        raise InputError(f"decisions.json: {board.trouble}")


def read_run(folder: Path) -> None:
    looked_at(folder, "0001")


STUDY_FILES = tuple(f"study/{name}" for name in ("study.json", "front.csv", "cloud.csv", "ruled_out.csv", "equals.csv"))
BRIEFS, WALLS, DECLARATIONS = ("demo.toml", "small.toml"), ("wall.toml",), ("a.json", "b.zip", "c.xml")


def make_briefs(folder: Path) -> None:
    texts(demo=demo_brief().read_text(encoding="utf-8"), small=tomli_w.dumps(tomllib.loads(TEXT)))(folder)


def read_a_brief(path: Path) -> None:
    brief_to_toml(read_brief(path))


def make_weather(folder: Path) -> None:
    folder.mkdir(parents=True)
    weather_file(folder, weather_lines())


READERS = {
    reader.name: reader
    for reader in (
        Reader("brief", BRIEFS, make_briefs, lambda folder: each(folder, BRIEFS, read_a_brief)),
        Reader("build-up", WALLS, texts(wall=WALL), lambda folder: each(folder, WALLS, read_wall)),
        Reader("list", ("list.csv",), make_lists, lambda folder: each(folder, ("list.csv",), read_list)),
        Reader("workbook", ("list.xlsx",), make_workbook, lambda folder: each(folder, ("list.xlsx",), read_list)),
        Reader("mapping", ("list.toml",), make_mapping, read_mapped),
        Reader("declaration", DECLARATIONS, make_declarations, lambda f: each(f, DECLARATIONS, read_declarations)),
        Reader("weather", ("town.epw",), make_weather, lambda folder: each(folder, ("town.epw",), monthly_means)),
        Reader(
            "sheet", ("back.csv", "back.xlsx"), make_sheets, lambda f: each(f, ("back.csv", "back.xlsx"), read_sheet)
        ),
        Reader("wall type", ("wall.ifc",), make_ifc, read_ifc),
        Reader("study", STUDY_FILES, make_study, looked_at),
        Reader("study brief", ("study/brief.toml", "study/prices/1-toy.csv"), make_study, looked_at),
        Reader("study build-up", ("study/buildups/W130-001.toml",), make_study, looked_at),
        Reader("suppliers", ("study/suppliers.json",), make_study, looked_at),
        Reader("decisions", ("study-runs/decisions.json",), make_study, read_decisions, cleans=True),
        Reader("run", ("study-runs/0001/state.json", "study-runs/0001/partial.json"), make_study, read_run),
    )
}
