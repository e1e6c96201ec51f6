"""Response curves and rating lines against what their authors printed."""

import numpy as np
import pytest

from saltcalc.data.crops import catalogue
from saltcalc.parts.crops.limits import crop_limits
from saltcalc.science.crop_response import Rating, ec_at_yield, rated_yield, s_curve_response


@pytest.mark.independent
def test_one_s_curve_serves_most_crops():
    # van Genuchten & Gupta (1993), abstract: Y = 1 / (1 + (c/c50)^3) stands for most of 204 data
    # sets of the Maas and Hoffman database. So the threshold lines of the table, put on c/c50,
    # must lie close to it.
    crops = [crop for crop in catalogue().crops.values() if crop.threshold > 0]
    limits = crop_limits(crops)
    half = ec_at_yield(50, limits.threshold, limits.slope)
    shares = np.array([[90.0], [70.0], [30.0]])
    curve = s_curve_response(ec_at_yield(shares, limits.threshold, limits.slope), half)
    assert np.abs(np.median(curve, axis=1) - shares[:, 0]).max() < 5


@pytest.mark.independent
def test_rating_lines_hold_the_crops_rated_by_them():
    # FAO 29, Figure 10, after Maas and Hoffman (1977): a crop is rated by the field between two
    # lines that its own line lies in. Lines cross fields, so compare at half the yield: most
    # crops must lie in their field, and next to it otherwise, but for two very flat lines.
    crops = [crop for crop in catalogue().crops.values() if crop.threshold > 0 and crop.rating]
    limits = crop_limits(crops)
    half = ec_at_yield(50, limits.threshold, limits.slope)
    lines = np.add([8, 16, 24, 32], [1.3, 3.0, 6.0, 10.0]) / 2  # each line at half its yield
    field = np.searchsorted(lines, half)
    off = np.abs(field - limits.rating)
    assert (off == 0).mean() > 0.7
    assert off.max() <= 2
    assert (off == 2).sum() <= 2  # forage wheats, at 2.5 % per dS/m


@pytest.mark.parametrize(
    ("rating", "threshold", "nothing"),
    [
        (Rating.SENSITIVE, 1.3, 8),
        (Rating.MODERATELY_SENSITIVE, 3.0, 16),
        (Rating.MODERATELY_TOLERANT, 6.0, 24),
        (Rating.TOLERANT, 10.0, 32),
    ],
)
def test_upper_rating_lines(rating, threshold, nothing):
    # FAO 29, Table 5 (EC at which loss begins) and Figure 10 (from memory).
    assert rated_yield(threshold, rating)[1] == pytest.approx(100)
    assert rated_yield(threshold + 0.1, rating)[1] < 100
    assert rated_yield(nothing - 0.1, rating)[1] > 0
    assert rated_yield(nothing, rating)[1] == pytest.approx(0)
