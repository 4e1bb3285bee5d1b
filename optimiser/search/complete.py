"""The complete front: every buildable wall of the brief is settled, none is missed.

The argument. A wall is a core (frames, gap, fills), a service zone and a skin (all plain layers). Thickness, cost,
carbon and weight of the three add up. Added plain resistance p never lowers R' or R'', so U falls with it; the skin
enters heat by p alone. Walls are excluded by these reasons and no others:

- dominated option: another option of the same slot (skin, service zone, stud of the same geometry, fill of the same
  behaviour) is no worse in resistance on every path and in every figure, and better by a sure step in an objective.
  Put in its place it makes a wall that is still warm enough and strictly better. Nothing is dropped across different
  spacings, offsets or widths, nor for a property that an active judgement reads and that would get worse.
- too little insulation: the skin has less resistance than core and service zone need for the target (`heat.required`).
  Where the numerical U decides, that is what R' alone must reach, and the judgement `numeric` settles the rest.
- smallest sufficient gap: with the same skin a narrower gap already meets the target, and the wider one costs more in
  an objective and nothing less in the others. Checked gap by gap from tabulated figures, so it is not used where
  denser fill, stock sizes of batts or prices of either sign break it, nor where a correction reads the gap or the
  heat that a wall loses is a figure of its own (the wider gap loses less). A wall
  that a judgement rules out stands for no other: the next wider gap is released and evaluated after all.
- judgement: a stud that no wall may hold, whatever else it is made of.
- limit: the figures exceed a limit of the brief.
- bound: the least that core, service zone and the skins still possible can add up to is strictly beaten by a wall that
  is known, evaluated and passes.

What is left is evaluated plainly, with the same functions as any wall. Two guards: where R'/R'' could exceed 1.5 (the
method would refuse a wall that displaced others) the search runs again without the first and third reason; and only
walls that pass every judgement ever bound others. Ties: nothing is dropped that could have exactly the scores of a
wall on the front, so all of them are found and counted.
"""

from __future__ import annotations

import time
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from ..batch import Array, Index
from ..checks.common.search_judgement import Judgement, Reads
from ..space.buildable import space_size
from ..space.choices import Choices
from ..space.evaluate import evaluate, excess
from ..stopping import Stopped, ask, pieces
from ..template import AT, CORE, FILL_OF, GAP, GAP_FILL, MAIN_FILLS, OUTER_FILL, SERVICE_ZONE, STUDS
from . import bounds, core_options, service_zones
from .boxes import Boxes, Series
from .cores import NO_GAP, Cores, looked_at, next_wider
from .judgement_filter import corrected_slots, passing_and_failing, reads_of
from .parts import Figures
from .skins import SkinClass, skins
from .still_open import Open, StillOpen, promise
from .tally import Settled, Tally, share_of
from .warmth import Unsafe, Warmth

BOXES = 20_000  # boxes of cores looked at together
ON_SIGHT = 20  # cores of a chunk settled while looking
LOOKED_AT, PAIRS = 25_000, 200_000  # cores, and pairs of core and service zone, between two chances to stop
EVALUATED = 10_000  # walls likewise
FIRST_CORES, MOST_CORES = 500, 16_000  # cores settled together, at first and at most
FIRST_WALLS, MOST_WALLS = 2_000, 400_000  # walls looked at together, at first and at most
TOUCH = 1e-9  # m2K/W; how near to the needed resistance a skin is still given the benefit of the doubt


class Complete:
    """The complete search of one target; `run()` yields where it stands, last of all where it stopped or was stopped.

    seeds: rows of walls known before, of any quality. share: (number, of how many) workers that split the space.
    guarded: do without dominance from the start.
    """

    def __init__(
        self,
        choices: Choices,
        target: float,
        seeds: Index | None = None,
        judgements: tuple[Judgement, ...] = (),
        share: tuple[int, int] = (0, 1),
        guarded: bool = False,
    ) -> None:
        self.choices, self.target, self.judgements = choices, target, judgements
        self.follow = Figures.of(choices)
        self.share, self.guarded = share, guarded
        self.size = space_size(choices)
        self.tally = Tally(ruled_out={each.name: 0 for each in judgements})
        self.x = np.empty((0, len(choices.sizes)), np.int32)  # walls not beaten so far, all ties among them
        self.steps = np.empty((0, len(self.follow.objectives)), np.int64)
        self.still_open = StillOpen()
        self._started = time.monotonic()
        self._cut = bounds.Cut(self.steps)
        self._seeds = np.empty((0, len(choices.sizes)), np.int32) if seeds is None else np.asarray(seeds, np.int32)

    def run(self) -> Iterator[Settled]:
        """Settle the whole space; without dominance where the guard asks for it."""
        try:
            self.begin()
            try:
                yield from self._search()
            except Unsafe:
                self.guarded = True
                yield from self._search()
        except Stopped:
            yield self._standing()

    def begin(self) -> None:
        """Evaluate the seeds: what is known before anything is looked at."""
        self._evaluated(self._seeds)
        self._seeds = self._seeds[:0]

    def _search(self) -> Iterator[Settled]:
        self.tally, self.still_open = Tally(ruled_out={each.name: 0 for each in self.judgements}), StillOpen()
        self._prepare()
        self.still_open.begin(self._floor())
        opened = []
        for each in self._look():
            # Something to cut with from the start: the best of what is open is settled on sight.
            order = np.argsort(promise(each.least), kind="stable")
            self._settle_cores(each, order[:ON_SIGHT])
            opened.append(each.rows(np.sort(order[ON_SIGHT:])))
            yield self._standing()
        yield from self._settle(opened)

    # -- options worth combining ------------------------------------------------------------------------------

    def _prepare(self) -> None:
        """Reduce skins, service zones, frames and fills to the options that no other makes superfluous."""
        choices, follow, thin = self.choices, self.follow, not self.guarded
        corrected = corrected_slots(choices)
        reads = set().union(*(each.reads for each in self.judgements)) | corrected
        self.by_gap = thin and not corrected and not self.follow.operational
        known = {name: reads_of(name, choices, self.judgements) for name in reads if name in choices.options}
        self.frames = {
            name: core_options.frames(choices, name, follow, known.get(name))
            if thin
            else np.arange(len(choices.options[name]))
            for name in STUDS
        }
        same_fills = thin and not reads & {*MAIN_FILLS} and not corrected & {*CORE}
        every = np.arange(len(choices.fills[GAP_FILL]))
        self.fills = core_options.fills(choices, follow) if same_fills else every
        self.services = service_zones.services(
            choices, follow, thin and not reads & {SERVICE_ZONE, FILL_OF[SERVICE_ZONE]}
        )
        self.boxes = Boxes(choices, follow, self.frames, self.fills)
        self.groups = service_zones.grouped(self.services)
        self.heat = Warmth.of(choices, self.target, self.follow, self.services)
        self.skins = self._skins(known)
        self.least = {id(each): bounds.RangeMin(each.part.figures) for each in self.skins}

    def _floor(self) -> Array | None:
        """(k,) figures that no wall is below, whatever it is made of."""
        parts = [self.boxes.least(), self.groups.figures.min(axis=0)] if self.size else []
        skins = [each.part.figures for each in self.skins if len(each.part)]
        return sum(parts) + np.concatenate(skins).min(axis=0) if parts and skins else None

    def _skins(self, known: dict[str, Reads]) -> list[SkinClass]:
        return skins(self.choices, self.follow, not self.guarded, known)

    # -- a first look at every core ---------------------------------------------------------------------------

    def _look(self) -> Iterator[Open]:
        """Every core, in boxes of neighbouring gaps against groups of service zones; what is still open then."""
        combinations, number = 0, 0
        for skin in self.skins:
            for series in self.boxes.series(skin.first, skin.second):
                ask()
                loose = self.choices.kinds[OUTER_FILL].loose[series.x[:, AT[OUTER_FILL]]]
                rows = np.arange(len(loose)) if skin.closed else np.flatnonzero(~loose)
                walls = int(series.runs.size.sum()) * len(self.services.part) * len(skin.part)
                combinations += len(rows) * walls
                held = rows[~self._ruled_out(series.x[rows])]
                if self.share[0] == 0:
                    self.tally.add("judgement", (len(rows) - len(held)) * walls)
                rows = held
                for chunk in np.array_split(rows, max(1, len(rows) * len(series.runs.size) // BOXES)):
                    if len(chunk) and number % self.share[1] == self.share[0]:
                        opened = self._look_at(skin, series, chunk)
                        if opened is not None:
                            yield opened
                    number += 1
        if self.share[0] == 0:
            self.tally.add("dominated option", self.size - combinations)

    def _ruled_out(self, x: Index) -> NDArray[np.bool_]:
        """(n,) rows that hold an option which no wall may hold by some judgement."""
        out = np.zeros(len(x), bool)
        for each in self.judgements:
            for slot, dead in each.rules_out.items():
                out |= dead[x[:, AT[slot]]]
        return out

    def _look_at(self, skin: SkinClass, series: Series, rows: NDArray) -> Open | None:
        """Some series: boxes first, then the cores of the boxes still open one by one."""
        runs = series.runs
        s, r = (each.ravel() for each in np.meshgrid(rows, np.arange(len(runs.size)), indexing="ij"))
        box = Cores(
            series.x[s],
            series.figures[s] + runs.figures[r],
            series.mean[s] + runs.mean[r],
            series.lower[s] + runs.lower[r],
            np.full(len(s), NO_GAP, np.int32),
        )
        alive, _ = self._by_group(skin, box, np.ones((len(s), len(self.groups.size)), bool), runs.size[r])
        still = np.flatnonzero(alive.any(axis=1))
        opened = []
        for some in pieces(len(still), max(1, LOOKED_AT // int(runs.size.max()))):
            rows = still[some]
            count = runs.size[r[rows]]
            x = np.repeat(series.x[s[rows]], count, axis=0)
            x[:, AT[GAP]] = np.concatenate([runs.options[each] for each in r[rows]])
            cores = looked_at(self.choices, self.follow, x, (skin.first, skin.second), CORE, self.by_gap)
            open_groups, least = self._by_group(skin, cores, np.repeat(alive[rows], count, axis=0))
            rows = np.flatnonzero(open_groups.any(axis=1))
            opened.append(Open(skin, cores.rows(rows), least[rows], open_groups[rows]))
        return Open.joined([each for each in opened if len(each.least)])

    def _by_group(
        self, skin: SkinClass, cores: Cores, among: NDArray, weight: NDArray | None = None
    ) -> tuple[NDArray, Array]:
        """Which groups of service zones could still hold a wall for each core (n, g); the least figures (n, k).

        among: the groups not struck out before; weight: how many cores each row stands for.
        """
        groups, many = self.groups, len(skin.part)
        mean = cores.mean[:, None] + groups.mean[None]
        lower = cores.lower[:, None] + groups.lower[None]
        floor = self.heat.at_least(mean, lower)
        core, group = np.nonzero(among)
        base = cores.figures[core] + groups.figures[group]
        first = np.searchsorted(skin.part.resistance, floor[core, group] - TOUCH)
        least = base + self.least[id(skin)].over(first, np.full(len(first), many))
        least += self.heat.operating(skin, (mean + lower)[core, group], many)
        stands_for = groups.size[group] if weight is None else groups.size[group] * weight[core]
        pairs = self._strike(least, first, np.full(len(first), many), stands_for)
        alive = np.zeros(among.shape, bool)
        alive[core[pairs], group[pairs]] = True
        lowest = np.full((len(cores), base.shape[1]), np.inf)
        np.minimum.at(lowest, core[pairs], least[pairs])
        return alive, lowest

    # -- settling what is open --------------------------------------------------------------------------------

    def _settle(self, opened: list[Open]) -> Iterator[Settled]:
        """Settle open cores, the most promising first: what they find settles most of the others."""
        sizes = np.array([len(each.least) for each in opened], int)
        least = np.concatenate([np.empty((0, len(self.follow.keys))), *(each.least for each in opened)])
        origin = np.repeat(np.arange(len(opened)), sizes)
        local = np.arange(len(least)) - np.repeat(np.cumsum(sizes) - sizes, sizes)
        order, at, size = np.argsort(promise(least), kind="stable"), 0, FIRST_CORES
        self.still_open.of(least)
        yield self._standing()
        while at < len(order):
            chosen = order[at : at + size]
            at, size = at + len(chosen), min(2 * size, MOST_CORES)
            for number in np.unique(origin[chosen]):
                self._settle_cores(opened[number], local[chosen[origin[chosen] == number]])
            self.still_open.of(least[order[at:]])
            yield self._standing()

    def _settle_cores(self, opened: Open, rows: NDArray) -> None:
        """Settle every wall of some cores with their open service zones and every skin of the class."""
        for some in pieces(len(rows), max(1, PAIRS // len(self.services.part))):
            self._settle_some(opened, rows[some])

    def _settle_some(self, opened: Open, rows: NDArray) -> None:
        skin, cores = opened.skin, opened.cores.rows(rows)
        alive, _ = self._by_group(skin, cores, opened.groups[rows])
        core, zone = np.nonzero(alive[:, self.groups.of])
        pairs = self._open_pairs(skin, cores, core, zone)
        if pairs is None:
            return
        core, zone, start, stop, base, both = pairs
        least = base + self.least[id(skin)].over(start, stop) + self.heat.operating(skin, both, stop)
        order = np.argsort(promise(least), kind="stable")
        at, size = 0, FIRST_WALLS
        while at < len(order):
            ask()
            ends = np.cumsum((stop - start)[order[at : at + size]])
            chosen = order[at : at + max(1, int(np.searchsorted(ends, size, "right")))]
            at, size = at + len(chosen), min(4 * size, MOST_WALLS)
            _, beaten = self._dead(least[chosen])
            self.tally.add("bound", (stop - start)[chosen[beaten]].sum())
            rest = chosen[~beaten]
            x = cores.x[core[rest]] + self.services.part.x[zone[rest]]
            self._walls(skin, x, start[rest], stop[rest], base[rest], both[rest])

    def _open_pairs(self, skin: SkinClass, cores: Cores, core: NDArray, zone: NDArray):
        """Pairs of core and service zone still open, with the run of skins (by resistance) that each may take."""
        part, many, zones = skin.part, len(skin.part), self.services
        every = np.full(len(core), many)
        base = cores.figures[core] + zones.part.figures[zone]
        lower, mean = cores.lower[core] + zones.lower[zone], cores.mean[core] + zones.mean[zone]
        first = np.searchsorted(part.resistance, self.heat.at_least(mean, lower) - TOUCH)
        least = base + self.least[id(skin)].over(first, every) + self.heat.operating(skin, mean + lower, every)
        pairs = self._strike(least, first, every)
        core, zone, base, first, mean, lower = (each[pairs] for each in (core, zone, base, first, mean, lower))
        if not len(core):
            return None
        need = self.heat.needed(skin, cores.x, core, zone)
        if not self.guarded:
            self.heat.check(need, mean, lower)
        start = np.maximum(np.searchsorted(part.resistance, need - TOUCH), first)
        stop = np.full(len(core), many)
        wins = np.flatnonzero((cores.narrower[core] != NO_GAP) & (start < many))
        if len(wins):
            x = cores.x.copy()
            x[:, AT[GAP]] = np.maximum(cores.narrower, 0)
            stop[wins] = np.searchsorted(part.resistance, self.heat.needed(skin, x, core[wins], zone[wins]) + TOUCH)
        stop = np.maximum(stop, start)
        self.tally.add("smallest sufficient gap", (many - stop).sum())
        least = base + self.least[id(skin)].over(start, stop) + self.heat.operating(skin, mean + lower, stop)
        pairs = self._strike(least, start, stop)
        self.tally.add("too little insulation", start[pairs].sum())
        return core[pairs], zone[pairs], start[pairs], stop[pairs], base[pairs], (mean + lower)[pairs]

    def _strike(self, least: Array, start: NDArray, stop: NDArray, weight: NDArray | int = 1) -> NDArray:
        """Numbers of the pairs that are neither without warm enough skins, nor over a limit, nor beaten.

        least: the least figures each could come to; start..stop: the skins it may take, those below start have too
        little insulation; weight: how many pairs each stands for. All skins up to stop of pairs struck out are counted.
        """
        over, beaten = self._dead(least)
        run = (stop - start) * weight
        dead = over | beaten | (run == 0)
        self.tally.add("too little insulation", (start * weight)[dead].sum())
        self.tally.add("limit", run[over].sum())
        self.tally.add("bound", run[beaten].sum())
        return np.flatnonzero(~dead)

    def _dead(self, least: Array) -> tuple[NDArray, NDArray]:
        """(over a limit, strictly beaten) for least figures (n, k)."""
        over = (least > self.follow.limits + bounds.NOISE).any(axis=1)
        beaten = np.zeros(len(least), bool)
        rest = ~over & np.isfinite(least).all(axis=1)
        beaten[rest] = self._cut.beats(least[rest][:, : len(self.follow.objectives)])
        return over, beaten

    def _walls(self, skin: SkinClass, x: Index, start: NDArray, stop: NDArray, base: Array, both: Array) -> None:
        """Look at walls one by one: figures first, then a full evaluation of those still in the running."""
        count = stop - start
        pair = np.repeat(np.arange(len(count)), count)
        row = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count) + np.repeat(start, count)
        over, beaten = self._dead(base[pair] + skin.part.figures[row] + self.heat.operating(skin, both[pair], row + 1))
        self.tally.add("limit", over.sum())
        self.tally.add("bound", beaten.sum())
        rest = np.flatnonzero(~(over | beaten))
        for some in pieces(len(rest), EVALUATED):
            self._enter(x[pair[rest[some]]] + skin.part.x[row[rest[some]]])
            self.tally.evaluated += len(rest[some])  # not before: stopped within, they are still open

    def _enter(self, x: Index) -> None:
        """Evaluate walls and keep those that pass and that none beats; what failing ones displaced is released.

        A wall with a wider gap was left out because this one is better and warm enough. Ruled out by a judgement, it
        cannot stand for it.
        """
        failing = self._evaluated(x)
        while self.by_gap and len(failing):
            wider = next_wider(self.choices, failing)
            self.tally.released += len(wider)
            failing = self._evaluated(wider)

    def _evaluated(self, x: Index) -> Index:
        """Evaluate walls and keep those that pass and that none beats; returns those that a judgement ruled out."""
        if not len(x):
            return x
        ask()
        scores = evaluate(self.choices, x)
        passing = (excess(scores, self.choices.brief, self.target) <= 0).all(axis=1)
        steps = scores.steps(self.follow.objectives)
        passing[passing] &= ~self._cut.beats(steps[passing].astype(float))
        passing, failing = passing_and_failing(
            self.judgements, self.choices, x, steps, np.flatnonzero(passing), self.tally
        )
        if len(passing):
            rows = np.concatenate([self.x, x[passing].astype(np.int32)])
            steps = np.concatenate([self.steps, steps[passing]])
            rows, first = np.unique(rows, axis=0, return_index=True)
            alive = bounds.undominated(steps[first])
            self.x, self.steps = rows[alive], steps[first][alive]
            self._cut = bounds.Cut(self.steps)
        return x[failing]

    # -- small things -----------------------------------------------------------------------------------------

    def bound(self) -> Array | None:
        """(k,) the least figures that walls yet to come could have; infinite where nothing is open, None: not known."""
        return self.still_open.bound(self._cut, len(self.follow.objectives))

    def still(self, bound: Array | None) -> dict[str, float] | None:
        """The same by figure, in its unit; None where it is not known or nothing is open."""
        if bound is None or not np.isfinite(bound).all():
            return None
        return dict(zip(self.follow.keys, (bound / self.follow.scale).tolist(), strict=True))

    def _standing(self) -> Settled:
        """Where the search stands."""
        share, seconds = share_of(self.tally.settled, self.size), time.monotonic() - self._started
        still = self.still(self.bound()) if share < 1.0 else None
        return Settled(share, len(np.unique(self.steps, axis=0)), self.tally.evaluated, seconds, still)
