"""Scottish Executive building-regulations guidance on U-values, Annex 6.B.2: a worked timber-framed wall.

Status: path totals seen; R', R'' and U own (recomputed from the layers given there).
"""

from pathlib import Path

import pytest

from materials.catalogue import load_catalogue
from optimiser.checks.judge import judge
from optimiser.wall.buildup import read_buildup

FILE = Path(__file__).parent / "walls" / "brick_cavity_timber_frame.toml"


@pytest.fixture(scope="module")
def heat():
    return judge(read_buildup(FILE, load_catalogue())).heat


def test_path_totals(heat):
    """Seen: 3.971 m2K/W through the wool (90.5 %), 1.715 through the timber (9.5 %)."""
    wool, timber = heat.paths
    assert (wool.fraction, timber.fraction) == pytest.approx((0.905, 0.095), abs=1e-12)
    assert wool.resistance == pytest.approx(3.971, abs=5e-4)
    assert timber.resistance == pytest.approx(1.715, abs=5e-4)


def test_limits_and_u_value(heat):
    """Own: R' 3.530, R'' 3.418, U 0.288."""
    assert heat.r_upper == pytest.approx(3.530, abs=5e-4)
    assert heat.r_lower == pytest.approx(3.418, abs=5e-4)
    assert heat.u_value == pytest.approx(0.288, abs=5e-4)
    assert heat.correction == 0


def test_limits_by_hand(heat):
    """Exact, from the same layers: 1/R' = sum f/R, R'' = sum of layers in parallel, R_T their mean."""
    upper = 1 / (0.905 / 3.971 + 0.095 / 1.715)
    lower = 0.04 + 0.132 + 0.09 + 0.146 + 1 / (0.905 / 3.333 + 0.095 / 1.077) + 0.1 + 0.13
    assert heat.r_upper == pytest.approx(upper, rel=1e-12)
    assert heat.r_lower == pytest.approx(lower, rel=1e-12)
    assert heat.r_total == pytest.approx((upper + lower) / 2, rel=1e-12)
    assert heat.u_value == pytest.approx(2 / (upper + lower), rel=1e-12)
