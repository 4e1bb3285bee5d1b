"""What a step along the front costs: against the definition, on random fronts."""

from hypothesis import given
from hypothesis import strategies as st

from optimiser.search.rates import WORTH, changed, steps

KEYS = ("thickness_mm", "cost_per_m2", "carbon_kgco2e_m2")
figures = st.lists(st.tuples(*[st.integers(0, 30)] * 3), min_size=2, max_size=25, unique=True)


def rows_of(points):
    rows = []
    for number, point in enumerate(points):
        row = {"id": f"W-{number}", "sheathing": f"s{point[0] % 3}", "gap": str(point[1]), "in_short": "x"}
        rows.append(row | dict(zip(KEYS, map(float, point), strict=True)))
    return rows


@given(figures, st.data())
def test_a_step_goes_to_the_nearest_wall_that_is_better_in_one_thing(points, data):
    rows = rows_of(points)
    at = data.draw(st.sampled_from(rows))
    found = {step.objective: step for step in steps(rows, at["id"], KEYS)}
    spread = {key: max(row[key] for row in rows) - min(row[key] for row in rows) or 1.0 for key in KEYS}

    def far(row):
        return sum(abs(row[key] - at[key]) / spread[key] for key in KEYS)

    for key in KEYS:
        better = [row for row in rows if row[key] < at[key] - WORTH * spread[key]]
        better = better or [row for row in rows if row[key] < at[key]]
        assert (key in found) == bool(better)
        if better:
            step = found[key]
            to = next(row for row in rows if row["id"] == step.to)
            assert step.changes == {each: to[each] - at[each] for each in KEYS}
            assert step.changes[key] < 0
            assert far(to) <= min(map(far, better)) + 1e-9
            assert step.slots == {slot: (at[slot], to[slot]) for slot in ("sheathing", "gap") if at[slot] != to[slot]}


def test_only_slots_and_fills_are_named_as_changed():
    one = {"id": "a", "in_short": "x", "gap": "10", "outer fill": "f"}
    other = {"id": "b", "in_short": "y", "gap": "20", "outer fill": "f"}
    assert changed(one, other) == {"gap": ("10", "20")}
