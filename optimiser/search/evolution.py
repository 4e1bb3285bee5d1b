"""The evolutionary search: NSGA2 over the index encoding, step by step. The one place that knows pymoo."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pymoo.algorithms.moo.nsga2 import NSGA2
from pymoo.core.mutation import Mutation
from pymoo.core.population import Population
from pymoo.core.problem import Problem
from pymoo.core.repair import Repair
from pymoo.core.termination import NoTermination
from pymoo.operators.crossover.ux import UniformCrossover
from pymoo.operators.sampling.rnd import IntegerRandomSampling

from ..space import buildable as rules
from ..space.choices import Choices
from ..space.evaluate import evaluate, excess
from . import front
from .archive import Archive
from .tally import Progress

LEAST_GROWTH = 1e-4  # of the hypervolume, below which a generation counts as stagnant


class _Walls(Problem):
    """Rows of choices as pymoo sees them: objectives in whole steps; broken rules, target and limits as constraints."""

    def __init__(self, choices: Choices, archive: Archive) -> None:
        limits = len(choices.brief.limits.upper())
        super().__init__(
            n_var=len(choices.sizes),
            n_obj=len(archive.objectives),
            n_ieq_constr=2 + limits + len(archive.judgements),
            xl=0,
            xu=choices.sizes - 1,
            vtype=int,
        )
        self.choices, self.archive = choices, archive

    def _evaluate(self, x: NDArray, out: dict, *args: Any, **kwargs: Any) -> None:
        broken = rules.violations(self.choices, x).sum(axis=1)
        scores = evaluate(self.choices, x)
        sound = broken == 0
        missed = excess(scores, self.choices.brief, self.archive.target)
        missed = np.column_stack([missed, np.zeros((len(x), len(self.archive.judgements)))])
        missed[sound] = self.archive.missed(x[sound], _rows(scores, sound))
        self.archive.add(x[sound], _rows(scores, sound), missed[sound])
        out["F"] = scores.steps(self.archive.objectives).astype(float)
        out["G"] = np.column_stack([broken, missed])


def _rows(scores, chosen):
    return type(scores)(*(getattr(scores, key)[chosen] for key in scores.__dataclass_fields__))


class _Canonical(Repair):
    """Every row in its one form, so that equal walls are seen to be equal."""

    def _do(self, problem: _Walls, x: NDArray, **kwargs: Any) -> NDArray:
        return rules.canonical(problem.choices, np.clip(np.rint(x), 0, problem.xu).astype(int))


class _Change(Mutation):
    """One choice of a row on average, by turns to a neighbour (a size larger or smaller) and to any option.

    Neighbours alone leave a search in the corner it began in: fills have no order, and depths are traded for gaps.
    """

    def _do(self, problem: _Walls, x: NDArray, *args: Any, random_state: np.random.Generator, **kwargs: Any) -> NDArray:
        free = problem.xu > 0
        changed = (random_state.random(x.shape) < 1 / max(free.sum(), 1)) & free
        step = random_state.integers(1, 3, size=x.shape) * random_state.choice([-1, 1], size=x.shape)
        near = np.clip(x + step, 0, problem.xu)
        anywhere = random_state.integers(0, problem.xu + 1, size=x.shape)
        return np.where(changed, np.where(random_state.random(x.shape) < 0.5, anywhere, near), x)


class Evolution:
    """One search for one target: `next()` makes a generation, `state()` is all that resuming needs."""

    def __init__(self, choices: Choices, target: float, state: dict[str, Any] | None = None) -> None:
        self.choices, self.target = choices, target
        self.budget = choices.brief.search
        self.archive = Archive(choices, target)
        self.generation, self.stagnant, self.volume, self.spent = 0, 0, 0.0, 0.0
        self.reference: NDArray | None = None
        self._started = time.monotonic()
        self._algorithm = self._fresh()
        if state is not None:
            self._restore(state)

    def _fresh(self) -> NSGA2:
        algorithm = NSGA2(
            pop_size=self.budget.population,
            sampling=IntegerRandomSampling(),
            crossover=UniformCrossover(prob=0.9),
            mutation=_Change(),
            repair=_Canonical(),
        )
        problem = _Walls(self.choices, self.archive)
        algorithm.setup(problem, termination=NoTermination(), seed=self.choices.brief.seed.value)
        return algorithm

    def run(self) -> Iterator[Progress]:
        """Generations until the hypervolume stagnates or the budget is spent."""
        while not self.finished():
            yield self.next()

    def finished(self) -> bool:
        spent = self.generation >= self.budget.generations or self.budget.over(self.seconds)
        return spent or self.stagnant >= self.budget.stagnation or self._algorithm.termination.force_termination

    @property
    def seconds(self) -> float:
        return self.spent + time.monotonic() - self._started

    def next(self) -> Progress:
        """One generation."""
        self._algorithm.next()
        self.generation += 1
        steps = self.archive.best_steps
        if self.reference is None and len(steps):
            self.reference = steps.max(axis=0) * 1.1
        volume = front.hypervolume(steps, self.reference) if self.reference is not None else 0.0
        grew = volume > self.volume * (1 + LEAST_GROWTH)
        self.stagnant = 0 if grew or self.reference is None else self.stagnant + 1
        self.volume = max(volume, self.volume) if not grew else volume
        return self.progress()

    def progress(self) -> Progress:
        objectives = self.archive.objectives
        steps = self.archive.best_steps
        thinnest = None
        if len(steps) and "thickness_mm" in objectives:
            thinnest = float(steps[:, objectives.index("thickness_mm")].min()) / 100
        return Progress(
            self.target,
            self.generation,
            self.budget.generations,
            len(self.archive),
            len(steps),
            thinnest,
            self.volume,
            self.seconds,
        )

    def state(self) -> dict[str, Any]:
        """Plain arrays and numbers from which `Evolution(..., state)` goes on exactly where this one stands."""
        population = self._algorithm.pop
        x, _, _ = self.archive.all()
        return {
            "population": population.get("X").astype(np.int32),
            "rank": population.get("rank").astype(float),
            "crowding": population.get("crowding").astype(float),
            "archive": x,
            "reference": np.zeros(0) if self.reference is None else self.reference,
            "meta": json.dumps(
                {
                    "target": self.target,
                    "generation": self.generation,
                    "stagnant": self.stagnant,
                    "volume": self.volume,
                    "seconds": self.seconds,
                    "random": self._algorithm.random_state.bit_generator.state,
                }
            ),
        }

    def _restore(self, state: dict[str, Any]) -> None:
        meta = json.loads(str(state["meta"]))
        self.generation, self.stagnant, self.volume = meta["generation"], meta["stagnant"], meta["volume"]
        self.spent = meta["seconds"]
        self.reference = state["reference"] if len(state["reference"]) else None
        if len(state["archive"]):
            self.archive.add(state["archive"], evaluate(self.choices, state["archive"]))
        algorithm = self._algorithm
        population = Population.new(X=state["population"])
        algorithm.evaluator.eval(algorithm.problem, population, algorithm=algorithm)
        population.set("rank", list(state["rank"]))
        population.set("crowding", list(state["crowding"]))
        algorithm.is_initialized = True
        algorithm.n_iter = self.generation + 1
        algorithm.pop = population
        algorithm._set_optimum()
        algorithm.random_state.bit_generator.state = meta["random"]
