"""Run by itself: the template with one entry more, and all that then follows of it, told as JSON.

`python inner_board.py FOLDER`: the line is put into the source of the template before anything else is imported, as it
would be by hand; nothing else of the product is touched.
"""

from __future__ import annotations

import importlib.util
import json
import sys
from pathlib import Path

ENTRY = '    Slot("inner board", "gap board", may_be_empty=True),\n'
BEFORE = "    Slot(AIRTIGHT"  # on the room side of the inner frame


def with_one_entry_more() -> None:
    spec = importlib.util.find_spec("optimiser.template")
    source = Path(spec.origin).read_text(encoding="utf-8")
    assert source.count(BEFORE) == 1
    module = importlib.util.module_from_spec(spec)
    sys.modules["optimiser.template"] = module
    exec(compile(source.replace(BEFORE, ENTRY + BEFORE), spec.origin, "exec"), module.__dict__)
    sys.modules["optimiser"].template = module


def main(folder: Path) -> dict:
    with_one_entry_more()
    import numpy as np
    import toy_space as small

    from materials.catalogue import load_catalogue
    from optimiser.brief.price_lists import pricing_of
    from optimiser.checks.judge import judge
    from optimiser.handover.documents import documents
    from optimiser.handover.drawing.section import section_svg
    from optimiser.search.complete import Complete
    from optimiser.search.run import save, search
    from optimiser.search.second_opinion import verify
    from optimiser.search.study import open_study
    from optimiser.space.buildable import space_size
    from optimiser.space.judgements import judgements, passes_all

    told: dict = {"fronts": []}
    boards = {"inner board": {"allow": ["none", "o-9", "o-12"]}}
    cases = [
        {"slots": {**small.SMALL["slots"], **boards}},
        {"slots": {**small.SMALL["slots"], "inner board": {"allow": ["o-9", "o-12"]}}, **small.SOUND},
    ]
    # Battens too wide for the membrane: with a fill that presses on it only a board before it will do.
    wide = {"inner board": {"allow": ["none", "o-9"]}, "service zone": {"allow": ["b-45"], "spacing_mm": [800]}}
    cases.append({"slots": {**small.SMALL["slots"], **wide}, "checks": {"fill": True}})
    for number, changes in enumerate(cases):
        home = folder / f"case-{number}"
        home.mkdir()
        brief = small.brief_in(home, **changes)
        whole = small.listed(brief, home)
        choices = whole.choices
        asked = judgements(choices)
        holds = whole.holding() & passes_all(choices, asked, whole.x)
        proving = Complete(choices, brief.target.u_value, judgements=asked)
        for _ in proving.run():
            pass
        held = {option.key for row in proving.x for option in [choices.options["inner board"][row[_at("inner board")]]]}
        told["fronts"].append(
            {
                "counted": space_size(choices) == len(whole.x) == proving.size,
                "settled": proving.tally.settled == proving.size,
                "equal": np.unique(proving.steps, axis=0).tolist() == small.best_of(whole.steps()[holds]).tolist(),
                "size": len(np.unique(proving.steps, axis=0)),
                "held": sorted(held),
            }
        )
    home = folder / "case-1"
    brief = small.brief_in(home, **cases[1], house={"length_m": 10.0, "width_m": 8.0, "storey_height_m": 2.75})
    outcome = search(brief, home)
    save(outcome, home, folder / "study")
    study = open_study(folder / "study")
    row = study.rows[0]
    wall = study.buildup(row["id"])
    catalogue = load_catalogue()
    judged = judge(wall, pricing_of(brief, home, catalogue)[0])
    at = [layer.role for layer in wall.layers].index("inner board")
    made = {name: data for each in documents(study, row["id"]) for name, data in each.files.items()}
    order = "".join(data.decode("utf-8") for name, data in made.items() if name.endswith(".csv"))
    told |= {
        "reads": {each.name: "inner board" in each.reads for each in judgements(small.choices_of(brief, home))},
        "column": row["inner board"],
        "between": [wall.layers[at - 1].role, wall.layers[at + 1].role],
        "priced": judged.layers[at].cost_per_m2,
        "carbon": judged.layers[at].carbon_kgco2e_m2,
        "drawn": "inner board" in section_svg(wall),
        "ordered": "inner board" in order,
        "missed": verify(folder / "study", draws=2000).missed,
    }
    return told


def _at(name: str) -> int:
    from optimiser.template import AT

    return AT[name]


if __name__ == "__main__":
    print(json.dumps(main(Path(sys.argv[1]))))
