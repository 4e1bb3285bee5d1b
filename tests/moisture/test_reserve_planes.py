"""Which planes dry in the block climate: one, two, a zone, none (exact: closed form on the planes found)."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.moisture.diffusion import construction
from optimiser.moisture.reserve import drying_reserve

PER_METRE = 2e-10 * 90 * 86400 * 500 * 1000  # g/m2 of drying through an sd of 1 m on one side


def test_two_wet_planes_dry_outward_and_inward():
    """Two tight boards, fill between them and inside: the inner face of each is wet."""
    found = drying_reserve(construction([[0.1, 3.0, 0.1, 3.0, 0.05]], [[5.0, 0.2, 2.0, 0.2, 0.1]]))
    assert (found.outer[0], found.inner[0]) == pytest.approx((5.0, 0.3))
    assert found.evaporable[0] == pytest.approx(PER_METRE * (1 / 5.0 + 1 / 0.3))


def test_a_wet_zone_dries_from_its_middle():
    """Foam behind a tight board, open fill inside it: vapour condenses on several planes within the foam."""
    found = drying_reserve(construction([[0.1, 2.0, 2.0]], [[30.0, 5.0, 0.1]]))
    assert found.outer[0] + found.inner[0] == pytest.approx(35.1)
    assert 30.0 < found.outer[0] < 35.0
    assert found.evaporable[0] == pytest.approx(PER_METRE * (1 / found.outer[0] + 1 / found.inner[0]))


def test_a_wall_of_one_layer_dries_from_its_middle():
    found = drying_reserve(construction([[3.0], [0.2]], [[2.0], [2.0]]))
    assert found.condensed.tolist() == [0.0, 0.0]
    assert found.outer == pytest.approx(np.ones(2))
    assert found.evaporable == pytest.approx(np.full(2, PER_METRE * 2))


def test_sd_that_follows_the_humidity_dries_open_and_wets_tight():
    """Between its two values taken as fixed: it condenses less than the humid one and dries more than the dry one."""
    resistance, dry, humid = [0.1, 6.0, 0.0, 0.05], [3.0, 0.5, 10.0, 0.1], [3.0, 0.5, 0.25, 0.1]
    follows = drying_reserve(construction([resistance], [dry], [humid]))
    tight, open_ = (drying_reserve(construction([resistance], [each])) for each in (dry, humid))
    assert tight.condensed[0] <= follows.condensed[0] < open_.condensed[0]
    assert tight.evaporable[0] < follows.evaporable[0] <= open_.evaporable[0]


def test_an_unknown_element_is_refused():
    with pytest.raises(KeyError):
        drying_reserve(construction([[3.0]], [[2.0]]), "cellar")
