"""What is refused of a study: the file, the row, the column and why."""

from __future__ import annotations

from dataclasses import dataclass

from materials.untrusted import shown

FRONT, EQUALS, SUMMARY, BUILDUPS = "front.csv", "equals.csv", "study.json", "buildups"


@dataclass(frozen=True)
class Refusal:
    """One thing of a study that does not hold.

    place: the file, within the study. row: the id of the wall, or "row 3" where it has none to be named by. column: of
    the table, or key of the file; None where it is the row as a whole.
    """

    place: str
    row: str | None
    column: str | None
    reason: str

    def words(self) -> str:
        """All of it in a line that may be printed, whatever stands in the study."""
        at = [self.place, self.row and shown(self.row), self.column and f"column {shown(self.column)}"]
        return f"{', '.join(each for each in at if each)}: {shown(self.reason, 400)}"
