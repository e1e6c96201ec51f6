import numpy as np
import pytest

from saltcalc.data.nutrients import nitrogen_sources
from saltcalc.science.feed import ec_of_nitrate, nitrogen_to_add, source_mass


def test_feed_fills_the_gap_and_no_more():
    np.testing.assert_allclose(nitrogen_to_add([40.0, 120.0, np.nan], 100.0, 6.0), [360, 0, np.nan])


def test_mass_of_each_generic_source():
    grams = {s.id: float(source_mass(360.0, s.nitrogen_share)) for s in nitrogen_sources()}
    assert grams["calcium_nitrate"] == pytest.approx(0.36 / 0.155)
    assert grams["potassium_nitrate"] == pytest.approx(0.36 / 0.13)
    assert grams["organic_12_0_0"] == pytest.approx(3.0)


def test_hundred_milligrams_of_nitrate_nitrogen_bring_seven_tenths():
    assert ec_of_nitrate(100.0) == pytest.approx(0.714, abs=1e-3)
