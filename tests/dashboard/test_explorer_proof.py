"""Completeness, the live search, steps, equal walls and families of fronts in words: plain functions."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from dashboard.front import family, proof_part, proof_words, search_words
from dashboard.front.front_rows import chosen_target, cloud_of
from dashboard.front.plot_canvas import price_words
from dashboard.rows import choose
from dashboard.source import FrontSource
from dashboard.wall import panel, steps
from optimiser.search.rates import FrontStep
from optimiser.search.tally import REASONS

PROOF = {
    "target": 0.105,
    "share": 1.0,
    "evaluated": 40,
    "excluded": {
        "dominated option": 900,
        "too little insulation": 30,
        "smallest sufficient gap": 20,
        "limit": 0,
        "bound": 10,
    },
    "ruled_out": {},
    "seconds": 1.0,
}
SUMMARY = {
    "space_size": 1000,
    "targets": [0.105],
    "limits": {"max_thickness_mm": 620.0, "min_load_bearing_depth_mm": 120.0},
    "options": {"cladding": 1, "sheathing": 12},
    "undominated": {"cladding": 1, "sheathing": 9},
    "stopped": "complete",
    "complete": True,
    "seconds": 2.04,
    "proof": [PROOF],
}


def part(share: float) -> dict:
    return PROOF | {"share": share, "excluded": PROOF["excluded"] | {"dominated option": 500}}


def test_a_proof_adds_up_to_the_whole_space():
    lines = proof_words.proof_lines(SUMMARY, PROOF, "EUR")
    assert [count for count, _ in lines] == ["900", "30", "20", "10", "40", "1,000"]
    assert "stay above U 0.105" in lines[1][1]
    assert all("{" not in words for _, words in lines)
    assert "none is missed" in proof_words.proof_intro(SUMMARY, PROOF)
    with_limit = PROOF | {"excluded": {"limit": 960}}
    assert "(at most 620 mm thick)" in proof_words.proof_lines(SUMMARY, with_limit, "EUR")[0][1]


def test_every_reason_of_the_search_has_a_sentence():
    assert set(REASONS) <= set(proof_words.EXCLUDED)


def test_undominated_options_are_told_of_open_slots_only():
    said = proof_words.undominated_words(SUMMARY)
    assert "sheathing 9 of 12" in said
    assert "cladding" not in said
    assert proof_words.undominated_words({}) == ""


def test_a_judgement_that_ruled_walls_out_is_named():
    lines = proof_words.proof_lines(SUMMARY, PROOF | {"ruled_out": {"moisture": 7, "strength": 0}}, "EUR")
    assert any("a judgement ruled out 7 by moisture." in words for _, words in lines)


def test_a_stopped_search_says_how_far_it_came():
    stopped = SUMMARY | {"complete": False, "stopped": "cancelled", "proof": [part(0.6)]}
    assert proof_words.beside_words(stopped) == "60.0 % of 1,000 settled, stopped on request, 2.0 s"
    lines = proof_words.proof_lines(stopped, part(0.6), "EUR")
    assert ("400", "are still open.") in lines
    intro = proof_words.proof_intro(stopped, part(0.6))
    assert "stopped on request" in intro
    assert "60.0 %" in intro
    of_two = stopped | {"targets": [0.105, 0.12]}
    assert proof_words.beside_words(of_two).startswith("30.0 % of 1,000 settled")


def test_what_an_interrupted_search_left_open_is_told_in_the_proof():
    left = SUMMARY | {"complete": False, "stopped": "interrupted", "proof": [part(0.6) | {"still": STILL}]}
    assert "60.0 % of 1,000 settled, interrupted" in proof_words.beside_words(left)
    assert "What is still open cannot be thinner than 428" in str(proof_part.proof(left, left["proof"][0], "EUR"))
    assert "still open cannot" not in str(proof_part.proof(SUMMARY, PROOF, "EUR"))


def test_a_proof_is_found_by_its_target():
    assert proof_words.proof_of(SUMMARY, 0.105) is PROOF
    assert proof_words.proof_of(SUMMARY, None) is PROOF
    assert proof_words.proof_of(SUMMARY, 0.2) is None
    assert proof_words.proof_of({}, None) is None
    assert proof_part.proof(SUMMARY, None, "EUR") == []
    assert proof_part.proof(SUMMARY, PROOF, "EUR")


STILL = {"thickness_mm": 428.0, "cost_per_m2": 157.4, "carbon_kgco2e_m2": 12.94}


def running(**progress) -> FrontSource:
    at = {"target": 0.105, "generation": 12, "generations": 250, "evaluations": 900, "seconds": 3.2} | progress
    return FrontSource(run="0001", status="running", progress=at, rows=[{"id": "P-1", "target": 0.105}])


def test_what_is_still_open_in_words():
    said = search_words.progress_words(running(settled=0.9931, still=STILL))
    assert said.startswith(
        "99.3 % of the space settled; what is still open cannot be thinner than 428 mm, cheaper than €157 or "
        "lower in carbon than 12.9 kg. 1 wall on the front so far"
    )
    assert "open" not in search_words.progress_words(running(settled=0.5, still=None))
    assert "nothing settled yet" in search_words.progress_words(running(settled=0.0)).lower()
    assert "round 12 of at most 250" in search_words.progress_words(running())


def test_several_targets_are_counted_off():
    target = SimpleNamespace(all=(0.105, 0.12))
    brief = SimpleNamespace(
        target=target,
        prices=SimpleNamespace(currency="EUR"),
        search=SimpleNamespace(complete=True, start_generations=40),
    )
    source = FrontSource(run="1", status="running", brief=brief, progress={"target": 0.12, "generation": 3})
    assert search_words.progress_words(source).startswith("U at most 0.12, target 2 of 2: a first look, round 3 of at ")


def test_a_listener_hears_stages_at_once_and_progress_every_few_seconds():
    first = search_words.announcement(running(), None, 100.0)
    assert first["words"].startswith("Searching. ")
    assert search_words.announcement(running(generation=13), first, 101.0) is None
    assert search_words.announcement(running(generation=14), first, 105.1) is not None
    assert search_words.announcement(running(settled=0.1), first, 101.0) is not None
    done = FrontSource(run="0001", status="done", rows=[{"id": "a"}], summary=SUMMARY, study=object())
    told = search_words.announcement(done, first, 101.5)
    assert "Complete front · 1 wall" in told["words"]
    assert search_words.announcement(done, told, 500.0) is None
    assert search_words.announcement(FrontSource(), None, 0.0)["words"] == ""


NAMES = steps.Names(
    {
        "a-osb-9": SimpleNamespace(name="OSB 9", supplier="Hollin"),
        "b-osb-9": SimpleNamespace(name="OSB 9", supplier="Corvane"),
        "a-osb-12": SimpleNamespace(name="OSB 12", supplier="Hollin"),
        "a-c16": SimpleNamespace(name="softwood C16 38 x 63", supplier="Hollin"),
        "a-loose": SimpleNamespace(name="blown cellulose", supplier="Hollin"),
        "b-loose": SimpleNamespace(name="blown wood fibre", supplier="Corvane"),
    },
    {"hemp-batt": SimpleNamespace(name="hemp batt, flexible")},
)


@pytest.mark.parametrize(
    ("one", "other", "said"),
    [
        ("a-osb-9", "a-osb-12", "OSB 9 → 12"),
        ("a-osb-9", "b-osb-9", "OSB 9 by Hollin → Corvane"),
        ("none", "a-c16 @600", "none → softwood C16 38×63"),
        ("a-c16 @600", "a-c16 @400", "softwood C16 38×63 → softwood C16 38×63 @400"),
        ("75", "68", "75 → 68 mm"),
        ("a-loose", "hemp-batt / Marl", "blown cellulose → hemp batt"),
        ("hemp-batt / Marl", "hemp-batt / Hollin", "hemp batt by Marl → Hollin"),
        ("a-loose", "unknown-key", "blown cellulose → unknown-key"),
    ],
)
def test_a_change_of_a_slot_in_names(one, other, said):
    assert NAMES.change(one, other) == said


def test_a_step_says_what_is_gained_what_it_costs_and_what_changes():
    fills = {slot: ("a-loose", "b-loose") for slot in steps.MAIN_FILLS[:2]}
    step = FrontStep(
        "thickness_mm",
        "W-007",
        {"thickness_mm": -14.0, "cost_per_m2": 6.2, "carbon_kgco2e_m2": 3.1, "weight_kg_m2": 0.0},
        {"sheathing": ("a-osb-9", "a-osb-12"), "gap": ("75", "68"), "inner fill": ("a-loose", ""), **fills},
    )
    (line,) = steps.step_lines([step], NAMES, "EUR")
    assert (line.to, line.gain, line.price) == ("W-007", "14 mm thinner", "+€6.20 · +3.1 kg")
    assert line.changes == "sheathing: OSB 9 → 12 · gap: 75 → 68 mm · fill: blown cellulose → blown wood fibre"
    (button,) = panel.steps([line])
    assert "W-007" in button.title


def test_equal_walls_say_in_which_slots_they_differ():
    row = {"id": "W-1", "sheathing": "a-osb-9", "gap": "100", "service fill": ""}
    others = [{"id": "W-1", "sheathing": "b-osb-9", "gap": "100", "service fill": ""}]
    assert steps.equal_words(row, others, NAMES) == ["sheathing: OSB 9 by Hollin → Corvane"]
    assert steps.equal_head(2) == "and 1 other with exactly these figures"
    assert steps.equal_head(1201) == "and 1,200 others with exactly these figures"
    assert len(panel.equal_walls(["a"] * 50)[1].children) == 41


def wall(key: str, target: float, thickness: float, cost: float, carbon: float) -> dict:
    figures = {"thickness_mm": thickness, "cost_per_m2": cost, "carbon_kgco2e_m2": carbon, "u_value": target}
    return {"id": key, "target": target, **figures}


FAMILY = [
    wall("A", 0.105, 440, 160, 25),
    wall("B", 0.105, 480, 158, 15),
    wall("C", 0.12, 400, 156, 23),
    wall("D", 0.12, 450, 154, 14),
    wall("E", 0.15, 340, 150, 20),
]


def test_what_a_target_costs_at_each_end_of_the_fronts():
    price = family.price_of(FAMILY, 0.105, "EUR")
    assert price.words == "instead of 0.12"
    assert [(end.name, end.change, end.rest) for end in price.ends] == [
        ("thinnest", "+40 mm", "+€4.00, +2.0 kg"),
        ("cheapest", "+€4.00", "+30 mm, +1.0 kg"),
        ("lowest carbon", "+1.0 kg", "+30 mm, +€4.00"),
    ]
    assert family.price_of(FAMILY, 0.15, "EUR").words == "; going on to 0.12"
    assert family.price_of(FAMILY[:2], 0.105, "EUR") is None
    assert family.price_of(FAMILY, None, "EUR") is None
    assert price_words(None) == []
    assert price_words(price)[0] == " instead of 0.12: "


def test_the_edge_of_a_front_is_what_no_other_beats_in_both_figures():
    rows = [*FAMILY[:2], wall("F", 0.105, 460, 200, 30), wall("G", 0.105, 440, 170, 26)]
    assert [row["id"] for row in family.edge(rows, "thickness_mm", "carbon_kgco2e_m2")] == ["A", "B"]
    assert set(family.edges(FAMILY, "thickness_mm", "cost_per_m2")) == {0.105, 0.12, 0.15}
    assert [row["id"] for row in family.others(FAMILY, 0.12)] == ["A", "B", "E"]
    assert family.others(FAMILY, None) == []


def test_the_cloud_is_that_of_the_chosen_target():
    source = FrontSource(cloud={"target": [0.105, 0.12, 0.105], "thickness_mm": [1.0, 2.0, 3.0]})
    assert cloud_of(source, 0.105)["thickness_mm"] == [1.0, 3.0]
    assert cloud_of(source, None)["thickness_mm"] == [1.0, 2.0, 3.0]
    assert cloud_of(FrontSource(), 0.105) == {}


def test_the_target_shown_is_the_readers_else_the_walls_else_the_briefs():
    brief = SimpleNamespace(target=SimpleNamespace(u_value=0.105))
    source = FrontSource(rows=FAMILY, brief=brief)
    known = choose.targets(FAMILY)
    assert chosen_target(source, known, "D", 0.15) == 0.15
    assert chosen_target(source, known, "D", None) == 0.12
    assert chosen_target(source, known, None, 0.2) == 0.105
    assert chosen_target(FrontSource(), [], None, None) is None


def test_what_the_checks_keep_off_the_front_is_told_by_reason():
    rows = [{"check": "strength", "reason": "108% in bearing"}] * 3 + [{"check": "fill", "reason": "too deep"}]
    assert proof_words.ruled_out(rows) == [
        ("3", "fail the check of strength: 108% in bearing."),
        ("1", "fail the check of fill: too deep."),
    ]
    told = str(proof_part.proof(SUMMARY, PROOF, "EUR", rows, most=1))
    assert "Without the checks" in told
    assert "and 1 more reasons" in told


def test_what_was_left_out_is_told_under_the_proof_and_pointed_at_beside_the_front():
    names = ["a", "b", "c", "d", "e"]
    left = SUMMARY | {"left_out": [{"subject": "prices", "words": "Old Yard: 5 products left out", "names": names}]}
    assert proof_words.left_out_lines(left) == ["Old Yard: 5 products left out (a, b, c and 2 more)"]
    assert "Old Yard: 5 products left out" in str(proof_part.proof(left, PROOF, "EUR"))
    assert proof_words.beside_words(left).endswith("2.0 s, see what was left out")
    assert "left out" not in proof_words.beside_words(SUMMARY) + str(proof_part.proof(SUMMARY, PROOF, "EUR"))
