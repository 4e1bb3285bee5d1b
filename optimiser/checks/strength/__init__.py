"""Whether the load-bearing studs stand: a preliminary check (EN 1995-1-1, EN 1990)."""
