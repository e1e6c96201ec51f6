"""Where a field rule for reclaiming soil says something, and where it says nothing."""

import numpy as np
import pytest

from saltcalc.science.reclamation import water_hoffman


def test_the_less_is_to_be_left_the_more_water_it_takes():
    left = np.array([1.0, 0.5, 0.2, 0.1])
    assert water_hoffman(left, 0.45) == pytest.approx([0.45, 0.9, 2.25, 4.5])
    assert water_hoffman(0.2, [0.45, 0.3]) == pytest.approx([2.25, 1.5])


@pytest.mark.parametrize("left", [0.0, 1.001, 2.0, np.nan])
def test_nothing_is_told_where_nothing_is_to_be_left_or_all_may_stay(left):
    assert np.isnan(water_hoffman(left, 0.45))


def test_a_negative_share_is_refused():
    with pytest.raises(ValueError, match="remaining"):
        water_hoffman(-0.1, 0.45)
