"""Random tests try the same cases every time, so that a run can be repeated; `--hypothesis-profile=wander` does not.

Tests that take long stand aside unless they are asked for: `-m long` runs them, `-m "long or not long"` all there are.
"""

import pytest
from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None, print_blob=True)
settings.register_profile("wander", deadline=None)
settings.load_profile("repeatable")

SHORT_IN_THE_BROWSER = (  # files whose browser tests always run; the states and views of the others take long
    "test_explorer_browser.py",
    "test_explorer_carbon.py",
    "test_explorer_conduction.py",
    "test_explorer_judgements.py",
    "test_explorer_path.py",
)
LONG_FILES = ("test_break_even_brute_force.py",)
LONG_TESTS = ("test_the_demo_searched_again_just_below_and_just_above",)  # the toy space does the same in seconds


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        browser = item.get_closest_marker("browser") is not None
        named = getattr(item, "originalname", item.name) in LONG_TESTS
        if named or item.path.name in LONG_FILES or (browser and item.path.name not in SHORT_IN_THE_BROWSER):
            item.add_marker(pytest.mark.long)
