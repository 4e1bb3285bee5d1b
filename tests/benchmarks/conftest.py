"""Benchmarks run where they are asked for, with --benchmark-enable, or among what takes long: they assert speeds."""

from __future__ import annotations

from pathlib import Path

import pytest

HERE = Path(__file__).parent


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config, items):
    if config.getoption("benchmark_enable"):
        return
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.long)
