"""Whether a wall stays dry by the month: surface, condensation and drying, drying reserve, mould at the sheathing."""
