"""What is said of a wall as taken off: on the calculation sheet, in the order's workbook, in a line on the terminal."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ...document import (
    NONE,
    DocumentPart,
    DocumentTable,
    Heading,
    Section,
    SumStep,
    Text,
    exact,
    listed,
    number,
    percent,
)
from ..tables.tabular import MARK_LABEL, TWO, WHOLE, Cell, Column, Table
from .as_taken_off import FURTHER, TIE_SPACING, AsTakenOff, CountedChange, CountedMembers

TITLE = "The same wall as taken off"
SHARES = (
    "The U-value of the search counts members by shares of the area: studs at their spacing, with plates, noggings and "
    "members round openings as the brief's framing spreads them, and a tie for every spacing of studs and of ties. The "
    "order counts pieces: studs at ends and corners too, plates of every storey, whole rows of ties. Here these pieces "
    "stand in the same calculation."
)
FACE = (
    "A layer's own face: its runs from corner to corner times the storeys' heights; in brackets less the openings. "
    "Studs, noggings, battens and ties are counted as if there were no openings, and so are as dense beside them; "
    "plates, corner studs and members round openings all stand in what is left."
)
WHY = {
    FURTHER: "studs at corners and ends of runs, and plates by storey, as the order counts them",
    TIE_SPACING: "as many rows are placed",
}
ONLY_ROOM = "no key of the brief counts all that is ordered"
FOUR, FIVE = "0.0000", "0.00000"


def missed_words(as_taken: AsTakenOff) -> str:
    """That the target is missed, with both values of U; '' where it is not."""
    if not as_taken.missed:
        return ""
    declared = "not given" if as_taken.u_declared is None else f"{number(as_taken.u_declared, 4)}"
    return (
        f"As taken off the wall misses its target: U is {number(as_taken.u_taken, 4)} W/m²K, at most "
        f"{exact(as_taken.target)} is asked for; as declared it is {declared}."
    )


def change_words(as_taken: AsTakenOff) -> str:
    """What to write into the brief, so that a search counts what is ordered; '' where there is nothing."""
    if not as_taken.changes:
        return ""
    changes = [f"{_change(each)} (now {exact(each.now)}; {WHY.get(each.key, ONLY_ROOM)})" for each in as_taken.changes]
    return f"So that a search counts what is ordered for such a wall, write in the brief {listed(changes)}."


def missed_line(as_taken: AsTakenOff) -> str:
    """The same for the terminal, in one line; '' where the target is not missed."""
    if not as_taken.missed:
        return ""
    changes = [_change(each) for each in as_taken.changes]
    words = missed_words(as_taken).replace("²", "2").replace("As", "as", 1).rstrip(".")
    return f"{as_taken.name}: {words}" + (f"; the brief counts it with {listed(changes)}" if changes else "")


def verdict(as_taken: AsTakenOff) -> str:
    """The target as taken off in a word; '' where it is not known."""
    if as_taken.u_taken is None or as_taken.target is None:
        return ""
    return "missed" if as_taken.missed else "met"


def _change(change: CountedChange) -> str:
    return f"{change.key} = {exact(change.then)}"


def taken_off_section(as_taken: AsTakenOff | str) -> Section:
    """Each share and number of ties as a sum, both values of U, and what to change. A text: why nothing is counted."""
    if isinstance(as_taken, str):
        return Section(TITLE, (Text(f"{SHARES.split(' Here')[0]} They could not be counted: {as_taken}."),))
    parts: list[DocumentPart] = [Text(SHARES), _compared(as_taken)]
    if as_taken.u_taken is None:
        parts.append(Text(f"U as taken off is not given: {as_taken.reason}."))
    parts += [Text(each) for each in (missed_words(as_taken), change_words(as_taken)) if each]
    if as_taken.members:
        parts += [Heading("How it is counted"), *(_step(each) for each in as_taken.members), Text(FACE, True)]
    return Section(TITLE, tuple(parts))


def _step(of: CountedMembers) -> SumStep:
    whole, left = number(of.whole_m2, 3), number(of.face_m2, 3)
    if of.ties:
        (_, count), *_ = of.counted
        return SumStep(
            f"Layer {of.layer}, {of.role}: ties per m² of its own face", f"{count:.0f} / {whole}", _taken(of)
        )
    through = [(what, value) for what, value in of.counted if of.throughout(what)]
    rest = [(what, value) for what, value in of.counted if not of.throughout(what)]
    sums = [_over(terms, face) for terms, face in ((through, whole), (rest, left)) if terms]
    return SumStep(f"Layer {of.layer}, {of.role}: timber, m² in its own face", " + ".join(sums), _taken(of))


def _over(terms: Sequence[tuple[str, float]], face: str) -> str:
    sum_ = " + ".join(f"{number(value, 3)} ({what})" for what, value in terms)
    return f"({sum_}) / {face}" if len(terms) > 1 else f"{sum_} / {face}"


def _taken(of: CountedMembers) -> str:
    return _shown(of, of.taken) if math.isfinite(of.taken) else NONE


def _shown(of: CountedMembers, value: float) -> str:
    return number(value, 3) if of.ties else percent(value, 2)


def _compared(as_taken: AsTakenOff) -> DocumentTable:
    rows = [
        (
            f"layer {each.layer}, {each.role}: {'ties per m²' if each.ties else 'timber'}",
            f"{number(each.whole_m2, 2)} ({number(each.face_m2, 2)})",
            _shown(each, each.declared),
            _taken(each),
        )
        for each in as_taken.members
    ]
    values = [NONE if each is None else number(each, 4) for each in (as_taken.u_declared, as_taken.u_taken)]
    rows.append(("U, W/m²K", "", *values))
    if as_taken.target is not None:
        asked = f"at most {exact(as_taken.target)} W/m²K"
        known = as_taken.u_declared is not None
        declared = NONE if not known else "met" if as_taken.u_declared <= as_taken.target else "missed"
        rows.append((asked, "", declared, verdict(as_taken) or NONE))
    heads = ("", "own face (less openings), m²", "as declared", "as taken off")
    totals = 1 if as_taken.target is None else 2
    return DocumentTable("As declared and as taken off", heads, tuple(rows), totals=totals, widths=(3.6, 2.2, 1.4, 1.4))


def taken_off_table(as_taken: AsTakenOff) -> Table:
    """The same for the workbook, with the keys of the build-up that hold what is counted, for `wallfront check`."""
    columns = (
        Column("Layer", WHOLE, 7),
        Column("Role", width=18),
        Column("What", width=30),
        Column("Own face, m2", TWO, 11),
        Column("Less openings, m2", TWO, 11),
        Column("Counted, m2 or pieces", TWO, 12),
        Column("As declared", FOUR, 12),
        Column("As taken off", FOUR, 12),
        Column("Key in the build-up", width=22),
        Column("Key as declared", FIVE, 15),
        Column("Key as taken off", FIVE, 15),
    )
    rows = tuple(_row(each) for each in as_taken.members)
    total = (None, "U, W/m2K", "", None, None, None, as_taken.u_declared, as_taken.u_taken, "", None, None)
    reason = "" if as_taken.u_taken is not None else f"U as taken off is not given: {as_taken.reason}"
    above = (("Wall", as_taken.name), (MARK_LABEL, as_taken.digest), ("U at most, W/m2K", as_taken.target))
    notes = tuple(filter(None, (missed_words(as_taken), change_words(as_taken), reason, SHARES, FACE)))
    return Table("U as taken off", columns, rows, above, total, notes)


def _row(of: CountedMembers) -> tuple[Cell, ...]:
    counted = math.fsum(value for _, value in of.counted)
    key, declared, then = of.key or ("", None, None)
    taken, then = (each if each is not None and math.isfinite(each) else None for each in (of.taken, then))
    what = "ties per m2" if of.ties else "timber, share of the face"
    return (of.layer, of.role, what, of.whole_m2, of.face_m2, counted, of.declared, taken, key, declared, then)
