"""The toy space, listed once for all tests of the search."""

import pytest
import toy_space as small


@pytest.fixture(scope="session")
def toy(tmp_path_factory):
    """A folder with the toy brief and its price list."""
    folder = tmp_path_factory.mktemp("toy")
    small.write_brief(folder)
    return folder


@pytest.fixture(scope="session")
def whole(toy):
    """Every wall of the toy space."""
    return small.listed(small.brief_in(toy), toy)
