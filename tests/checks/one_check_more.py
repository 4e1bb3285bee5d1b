"""Run by itself: the product with one check more, and what search, command, documents and explorer then say.

`python one_check_more.py FOLDER`: the module `hung_mass.py` is put into the room of checks, its line into the source
of the table, as by hand; nothing else of the product is touched.
"""

from __future__ import annotations

import contextlib
import importlib.util
import io
import json
import sys
from pathlib import Path

HERE = Path(__file__).parent
MODULE = "optimiser.checks.hung_mass"
LINE = "    HUNG_MASS,\n"
IMPORT = "from .hung_mass import HUNG_MASS\n"
LIMIT = 18.0  # kg/m2, between the lightest and the heaviest outside of the toy space


def with_one_check_more() -> None:
    import optimiser.checks

    table = importlib.util.find_spec("optimiser.checks.check_table")
    source = Path(table.origin).read_text(encoding="utf-8")
    assert source.count("    FILL,\n)") == 1
    source = source.replace("    FILL,\n)", f"    FILL,\n{LINE})").replace("from .fill", f"{IMPORT}from .fill", 1)
    spec = importlib.util.spec_from_file_location(MODULE, HERE / "hung_mass.py")
    added = importlib.util.module_from_spec(spec)
    sys.modules[MODULE] = added
    spec.loader.exec_module(added)
    module = importlib.util.module_from_spec(table)
    sys.modules["optimiser.checks.check_table"] = module
    exec(compile(source, table.origin, "exec"), module.__dict__)
    optimiser.checks.check_table, optimiser.checks.hung_mass = module, added


def main(folder: Path) -> dict:
    with_one_check_more()
    import numpy as np
    import toy_space as small

    from dashboard.source import FrontSource
    from dashboard.wall.judgement_sheet import judgements_html
    from dashboard.wall.judgements import lines
    from dashboard.wall.working import judgement_rows
    from optimiser.checks.check_table import NAMED, Demands
    from optimiser.checks.judge import judge
    from optimiser.command import cli
    from optimiser.handover.calculation.page import calculation_html
    from optimiser.handover.calculation.sheet import calculation
    from optimiser.search.complete import Complete
    from optimiser.search.run import save, search
    from optimiser.search.second_opinion import verify
    from optimiser.search.study import open_study
    from optimiser.space.judgements import judgements, passes_all
    from optimiser.space.walls import buildup

    asked = {"checks": {"hung_mass": True}, "hung_mass": {"max_kg_m2": LIMIT}}
    brief = small.brief_in(folder, **asked)
    whole = small.listed(brief, folder)
    choices, demands, check = whole.choices, Demands.of(brief), NAMED["hung_mass"]
    judged_by = judgements(choices)
    passing = passes_all(choices, judged_by, whole.x)
    proving = Complete(choices, brief.target.u_value, judgements=judged_by)
    for _ in proving.run():
        pass
    outcome = search(brief, folder)
    save(outcome, folder, folder / "study")
    study = open_study(folder / "study")
    some = np.concatenate([np.flatnonzero(passing)[::400], np.flatnonzero(~passing)[::400]])
    source, walls = FrontSource(brief=brief, rows=study.rows, study=study), []
    for number in some:
        wall = buildup(choices, whole.x[number], "one")
        judged = judge(wall, study.pricing, demands)
        (line,) = [each for each in lines(judged, 0.11, brief) if each.group == "hung mass"]
        sheet = calculation_html(calculation(judged, brief, pricing=study.pricing))
        verdict = judged.verdicts[check]
        words = check.words(verdict)
        walls.append(
            {
                "search": bool(passing[number]),
                "check": judged.as_json()["hung_mass"]["passes"],
                "failed": "hung_mass" in judged.verdicts.failed,
                "explorer": line.state,
                "page": words in str(judgement_rows(judged, 0.11, brief)),
                "print": f"Hung mass {line.verdict}: {words}" in judgements_html(judged, 0.11, source),
                "calculation": f"Verdict: {line.state}: {words}." in sheet,
                "summary": f"hung mass {line.state}" in sheet,
            }
        )
    file = folder / "heavy.toml"
    heavy = whole.x[np.flatnonzero(~passing)[0]]
    from optimiser.wall.buildup import to_toml

    file.write_text(to_toml(buildup(choices, heavy, "heavy"), choices.catalogue), encoding="utf-8")
    said = io.StringIO()
    sys.argv = ["wallfront", "check", str(file), "--brief", str(folder / "brief.toml")]
    try:
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(io.StringIO()):
            cli.main()
        code = 0
    except SystemExit as end:
        code = end.code
    return {
        "some pass, some fail": [int(passing.sum()), int((~passing).sum())],
        "equal": np.unique(proving.steps, axis=0).tolist()
        == small.best_of(whole.steps()[whole.holding() & passing]).tolist(),
        "moved the front": small.best_of(whole.steps()[whole.holding()]).tolist()
        != np.unique(proving.steps, axis=0).tolist(),
        "complete": outcome.summary["complete"],
        "walls": walls,
        "command": [code, said.getvalue()],
        "ruled out": [[row["check"], row["reason"]] for row in study.ruled_out],
        "missed": verify(folder / "study", draws=2000).missed,
    }


if __name__ == "__main__":
    print(json.dumps(main(Path(sys.argv[1]))))
