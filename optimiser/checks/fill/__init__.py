"""Whether blown fills can be filled so that they do not settle (common practice)."""
