"""Random tests try the same cases every time, so that a run can be repeated; `--hypothesis-profile=wander` does not."""

from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None, print_blob=True)
settings.register_profile("wander", deadline=None)
settings.load_profile("repeatable")
