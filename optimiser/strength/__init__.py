"""Whether the load-bearing frame carries its loads: a preliminary check of the studs (EN 1995-1-1)."""
