"""A small study that somebody might send, made once."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from readers import make_study


@pytest.fixture(scope="session")
def whole(tmp_path_factory) -> Path:
    """A study and what stands beside it."""
    folder = tmp_path_factory.mktemp("hostile") / "good"
    make_study(folder)
    return folder


@pytest.fixture
def sent(whole, tmp_path) -> Path:
    """A copy that a test may spoil."""
    shutil.copytree(whole, tmp_path / "sent")
    return tmp_path / "sent"
