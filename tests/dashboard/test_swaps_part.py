"""Other products in each place of a wall, as tables in the panel."""

from __future__ import annotations

from test_explorer_suppliers_words import ROW, swap

from dashboard.suppliers import swaps_part


def test_figures_of_all_places_stand_under_each_other_with_their_heads():
    others = [swap(rival=str(number), rival_name=f"OSB {number}") for number in range(7)]
    groups = swaps_part.swap_groups([*others, swap(places=("lining",))], ROW, None, "EUR")
    _, *parts = swaps_part.swap_parts(groups, "EUR")
    tables = [each.children[1] if each.className == "swaps-rest" else each for each in parts]
    assert len(tables) == 3
    for each in tables:
        columns, head, _ = each.children
        assert [getattr(column, "style", None) for column in columns.children][1:] == [
            {"width": f"{width}px"} for width in swaps_part.WIDTHS
        ]
        assert [cell.children.children for cell in head.children.children[1:]] == ["mm", "U", "€/m²", "kgCO₂e"]
