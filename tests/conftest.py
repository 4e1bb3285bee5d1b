"""Random tests try the same cases every time, so that a run can be repeated; `--hypothesis-profile=wander` does not.

Tests that take long stand aside unless they are asked for: `-m long` runs them, `-m "long or not long"` all there are.
"""

import gc
import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

CHROMIUM = "/usr/bin/chromium"

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


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Iterator[None]:
    """All that is made while tests are collected stays to the end: to look for garbage among it is wasted time."""
    gc.disable()
    try:
        return (yield)
    finally:
        gc.freeze()
        gc.enable()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        browser = item.get_closest_marker("browser") is not None
        named = getattr(item, "originalname", item.name) in LONG_TESTS
        if named or item.path.name in LONG_FILES or (browser and item.path.name not in SHORT_IN_THE_BROWSER):
            item.add_marker(pytest.mark.long)


@pytest.fixture(scope="session")
def chromium():
    """The browser; a missing one skips, unless WALLFRONT_REQUIRE_BROWSER says that it must be there."""
    required = os.environ.get("WALLFRONT_REQUIRE_BROWSER") == "1"
    try:
        from playwright.sync_api import sync_playwright

        playwright = sync_playwright().start()
    except ImportError as error:
        _missing(required, str(error))
    try:
        if not Path(CHROMIUM).exists():
            _missing(required, f"no browser at {CHROMIUM}")
        quiet = ["--no-sandbox", "--disable-background-networking", "--disable-component-update", "--no-first-run"]
        quiet += ["--disable-dev-shm-usage", "--disable-gpu"]  # small machines have little shared memory
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=quiet)
        yield browser
        browser.close()
    finally:
        playwright.stop()


def _missing(required: bool, why: str) -> None:
    if required:
        pytest.fail(f"the browser is required: {why}", pytrace=False)
    pytest.skip(why)
