"""What the explorer looks at: a finished study, or a run that is under way. Holds nothing of any one reader."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Sequence
from pathlib import Path
from threading import Lock
from typing import Any

from materials.catalogue import load_catalogue
from materials.errors import InputError
from optimiser.brief.as_judged import judge_by
from optimiser.brief.brief import Brief, brief_to_toml, read_brief
from optimiser.brief.own_materials import catalogue_of
from optimiser.brief.price_lists import pricing_of
from optimiser.checks.check_table import Demands
from optimiser.checks.judge import Judged, judge
from optimiser.checks.mend import mends
from optimiser.conduction.figures import NumericFigures, numeric_figures
from optimiser.search.jobs import Jobs
from optimiser.search.numeric_front import proven
from optimiser.search.numeric_worker import NumericProof, ProofState
from optimiser.search.rates import FrontStep
from optimiser.search.study import Study, area_lost, open_study
from optimiser.space.options import SlotOffer, offers, with_allowed
from optimiser.wall.buildup import BuildUp, parse_buildup
from optimiser.wall.pricing import Pricing

from .choosing import locking
from .choosing.decisions import Decisions
from .pricelists.lists import ListFacts, brief_with, lists_of
from .pricelists.uploads import Upload, Uploads
from .rows.choose import by_id
from .source import ALIVE, KEY, FrontSource
from .suppliers.comparisons import Comparing
from .wall.my_wall import LARGEST_FILE
from .wall.steps import Names

STUDIES_KEPT = 8
JUDGEMENTS_KEPT = 256
SOLVED_KEPT = 48


def _of(
    study: Study, run: str | None = None, status: str = "done", message: str = "", progress: Any = None
) -> FrontSource:
    return FrontSource(run, status, message, study.brief, study.rows, study.cloud, study.summary, progress or {}, study)


def _whole(folder: Path) -> Study:
    """A study with its tables and price lists; InputError where one cannot be read, rather than when it is shown."""
    study = open_study(folder)
    study.check_whole()
    return study


def _judge(wall: BuildUp, study: Study) -> Judged:
    """A wall judged as the brief of a study asks."""
    return judge_by(study.brief, wall, study.pricing, study.catalogue)


class _Cache:
    """The last few results of a slow look-up, shared by all readers."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._held: OrderedDict[object, Any] = OrderedDict()
        self._lock = Lock()
        self._making: dict[object, Lock] = {}

    def get(self, key: object, make: Callable[[], Any]) -> Any:
        """What is kept under a key; made once, however many ask for it at the same time."""
        with self._lock:
            if key in self._held:
                self._held.move_to_end(key)
                return self._held[key]
            making = self._making.setdefault(key, Lock())
        with making:
            with self._lock:
                if key in self._held:
                    return self._held[key]
            try:
                value = make()
            finally:
                with self._lock:
                    self._making.pop(key, None)
            with self._lock:
                self._held[key] = value
                while len(self._held) > self._most:
                    self._held.popitem(last=False)
        return value


class Workspace:
    """One study folder and the runs started from it."""

    def __init__(self, study_folder: Path | None, runs_folder: Path) -> None:
        self._folder = study_folder
        self.jobs = Jobs(runs_folder)
        self.decisions = Decisions(self.jobs.home)
        self.uploads = Uploads(self.jobs.home / "uploads")
        self.comparing = Comparing(self.jobs.home / "suppliers")
        self._studies = _Cache(STUDIES_KEPT)
        self._judged = _Cache(JUDGEMENTS_KEPT)
        self._briefs = _Cache(STUDIES_KEPT)
        self._priced = _Cache(STUDIES_KEPT)
        self._lists = _Cache(STUDIES_KEPT)
        self._plans = _Cache(STUDIES_KEPT)
        self._solved = _Cache(SOLVED_KEPT)
        self._proofs = _Cache(STUDIES_KEPT)

    def source(self, run: str | None) -> FrontSource:
        """The front of a run, or of the study that the explorer was opened on."""
        if run is None:
            return self._of_study()
        if not KEY.fullmatch(run):
            return FrontSource(run=None, status="missing", message="The address names a search that cannot exist.")
        try:
            state = self.jobs.state(run)
        except InputError as error:
            words = f"The address names a search that is not beside this study: {error}."
            return FrontSource(run=run, status="missing", message=words)
        alive = state.status in ALIVE
        try:
            study = self._open(state.study) if state.study and not alive else None
        except InputError as error:
            return FrontSource(run=run, status="missing", message=str(error))
        if study is not None:
            return _of(study, run, state.status, state.message, state.progress)
        try:
            brief = self._briefs.get(run, lambda: read_brief(self.jobs.home / run / "brief.toml", enclosed=True))
        except InputError as error:
            return FrontSource(run=run, status="missing", message=str(error))
        return FrontSource(run, state.status, state.message, brief, state.rows, progress=state.progress)

    def _of_study(self) -> FrontSource:
        if self._folder is None:
            return FrontSource(status="missing", message="No study is open.")
        try:
            study = self._open(self._folder)
        except InputError as error:
            return FrontSource(status="missing", message=str(error))
        return _of(study)

    def _open(self, folder: Path) -> Study:
        stamp = (folder / "study.json").stat().st_mtime_ns if (folder / "study.json").exists() else 0
        return self._studies.get((str(folder), stamp), lambda: _whole(folder))

    def wall(self, run: str | None, wall: str) -> Judged | None:
        """A wall of the front, judged; None where the front has no such wall to draw."""
        source = self.source(run)
        if source.study is None or not any(row["id"] == wall for row in source.rows):
            return None
        study = source.study
        key = (run, source.version, wall)
        return self._judged.get(key, lambda: _judge(study.buildup(wall), study))

    def conduction(self, wall: BuildUp, run: str | None, target: float | None) -> NumericFigures:
        """Heat through a wall by conduction, against a target; solved once. InputError where it has no cell."""
        brief = self.source(run).brief
        if brief is not None and target is not None:
            brief = brief.model_copy(update={"target": brief.target.model_copy(update={"u_value": target})})
        asked = (brief.uncertainty.model_dump_json(), brief.seed.value) if brief is not None else None
        key = (wall.model_dump_json(), target, asked)
        return self._solved.get(key, lambda: numeric_figures(wall, brief, catalogue_of(brief)))

    def proof_state(self, run: str | None) -> ProofState:
        """How far the proof of a front by conduction is; that of a finished run is started where its brief asks."""
        source = self.source(run)
        if source.study is None:
            return ProofState()
        folder = source.study.folder
        proof = self._proofs.get(str(folder), lambda: NumericProof(folder))
        state = proof.state()
        wanted = source.brief.numeric.proves and not proven(source.study)
        if run is None or source.status != "done" or not wanted or state.status != "none":
            return state
        proof.start()
        return proof.state()

    def names(self, run: str | None) -> Names:
        """What people call the contents of slots of a front."""
        study = self.source(run).study
        return Names(study.pricing.products, study.catalogue.materials) if study else Names({}, {})

    def steps(self, run: str | None, wall: str) -> list[FrontStep]:
        """What a step along the front costs from a wall; none where the front has no such wall."""
        source = self.source(run)
        return source.study.steps(wall) if source.study and by_id(source.rows, wall) else []

    def equals(self, run: str | None, wall: str) -> list[dict[str, str]]:
        """Other walls with exactly the figures of one."""
        source = self.source(run)
        return source.study.equals(wall) if source.study and by_id(source.rows, wall) else []

    def own_wall(self, text: str, name: str, run: str | None) -> Judged:
        """A build-up file of one's own, judged with the prices of the front; InputError in words."""
        if len(text.encode("utf-8")) > LARGEST_FILE:
            raise InputError(f"{name}: larger than {LARGEST_FILE // 1000} kB; a build-up file is not")
        study, ground = self.standard(run).study, self._ground(run)
        if study is not None:
            return _judge(parse_buildup(text, study.catalogue, name), study)
        if ground is None:
            return judge(parse_buildup(text, load_catalogue(), name))
        brief, catalogue = ground[0], catalogue_of(ground[0])
        return judge_by(brief, parse_buildup(text, catalogue, name), self._pricing(*ground), catalogue)

    def standard(self, run: str | None) -> FrontSource:
        """The front whose brief and prices judge a wall of one's own: a run's, or the study's while it has none."""
        source = self.source(run)
        return source if source.study is not None else self.source(None)

    def shortlisted_wall(self, run: str | None, wall: str) -> Judged | None:
        """A wall of one's own on the shortlist, judged; None where it is not kept, or no longer reads."""
        board = self.decisions.board()
        text = board.build_up(run, wall)
        if text is None:
            return None
        try:
            name = board.find(run, wall).called
            key = (run, self.standard(run).version, wall)
            return self._judged.get(key, lambda: self.own_wall(text, name, run))
        except InputError:
            return None

    def ruled_out(self, run: str | None, target: float | None) -> list[dict[str, str]]:
        """Walls that the checks keep off the front of a target."""
        study = self.source(run).study
        rows = study.ruled_out if study else []
        goal = target if target is not None else (study.brief.target.u_value if study else None)
        return [row for row in rows if abs(float(row["target"]) - goal) < 1e-9]

    def mends(self, judged: Judged, run: str | None) -> list[str]:
        """What would mend a wall that fails a check, in words; nothing for one that passes."""
        if not judged.verdicts.failed:
            return []
        study = self.standard(run).study
        asked = (study.pricing, Demands.of(study.brief)) if study else (None, None)
        catalogue = study.catalogue if study else load_catalogue()
        return [each.words for each in mends(judged.wall, catalogue, *asked, judged)]

    def floor_lost(self, thickness_mm: float, brief: Brief | None) -> float | None:
        """Floor area [m2] a wall of that thickness takes from the brief's house; None without a house."""
        return area_lost(brief, thickness_mm) if brief else None

    def slots(self, run: str | None) -> list[SlotOffer]:
        """What each slot may hold under the brief of the front."""
        ground = self._ground(run)
        if ground is None:
            return []
        return offers(ground[0], catalogue_of(ground[0]), self._pricing(*ground))

    def suppliers(self, run: str | None) -> dict[str, str]:
        """Product -> who sells it."""
        ground = self._ground(run)
        products = self._pricing(*ground).products if ground else {}
        return {key: each.supplier for key, each in products.items()}

    def _pricing(self, brief: Brief, folder: Path) -> Pricing:
        return self._priced.get(str(folder), lambda: pricing_of(brief, folder, catalogue_of(brief))[0])

    def search_again(self, run: str | None, allow: dict[str, list[str]]) -> str:
        """Start a search of the same brief with other contents of the slots; returns its run."""
        ground = self._ground(run)
        if ground is None:
            raise InputError("there is no brief to search from")
        brief, folder = ground
        return self.jobs.start(with_allowed(brief, allow, self.slots(run)), folder)

    def own_materials(self) -> dict[str, Any]:
        """The tables of the materials that the study's brief has of its own."""
        brief = self.source(None).brief
        return brief.materials.own if brief is not None else {}

    def lists(self, run: str | None) -> list[ListFacts]:
        """The price lists of a front, each with its products."""
        ground = self._ground(run)
        return self._lists.get(str(ground[1]), lambda: lists_of(*ground)) if ground else []

    def plan(self, run: str | None, placed: Sequence[tuple[Upload, str]]) -> dict[str, Any]:
        """What a search with uploaded lists may use of them, by slot; InputError where it could not be made."""
        brief, folder = self._with(run, placed)
        new = sorted(key for upload, _ in placed for key in upload.keys)
        names = sorted({name for upload, _ in placed for name in upload.names})
        whole = str(folder.resolve())  # the worker works in a folder of its own
        request = {"kind": "plan", "brief": brief_to_toml(brief), "folder": whole, "keys": new, "names": names}
        plan = self._plans.get((str(folder), request["brief"]), lambda: self.uploads.ask(request, "these lists"))
        if plan.get("words"):
            raise InputError(plan["words"])
        return plan

    def search_with(self, run: str | None, placed: Sequence[tuple[Upload, str]]) -> str:
        """Start a search of the same brief with uploaded lists and declarations; returns its run."""
        self.plan(run, placed)
        return self.jobs.start(*self._with(run, placed))

    def _with(self, run: str | None, placed: Sequence[tuple[Upload, str]]) -> tuple[Brief, Path]:
        ground = self._ground(run)
        if ground is None:
            raise InputError("there is no brief to search from")
        return brief_with(ground[0], placed), ground[1]

    def _ground(self, run: str | None) -> tuple[Brief, Path] | None:
        """The brief of a front and the folder that its price lists stand in."""
        source = self.source(run)
        if source.brief is None:
            return None
        if source.study is not None:
            return source.brief, source.study.folder
        return source.brief, self.jobs.home / str(run)

    def contents(self, run: str | None) -> locking.CellContents:
        """What stands behind the cells of a front: materials and suppliers."""
        study = self.source(run).study
        known = (study.pricing.products, study.catalogue.materials) if study else ({}, {})
        return locking.CellContents(*known)

    def search_locked(self, run: str | None, locks: Sequence[locking.Lock]) -> str:
        """Start a search of the same brief under locks; returns its run. InputError when one leaves nothing."""
        ground = self._ground(run)
        if ground is None:
            raise InputError("there is no brief to search from")
        brief, folder = ground
        contents = locking.CellContents(self._pricing(brief, folder).products, catalogue_of(brief).materials)
        return self.jobs.start(locking.locked_brief(brief, locks, self.slots(run), contents), folder)

    def cancel(self, run: str) -> None:
        """Ask a run to stop."""
        self.jobs.cancel(run)

    def resume(self, run: str) -> None:
        """Go on with a run that was stopped."""
        self.jobs.resume(run)
