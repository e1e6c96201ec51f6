import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from saltcalc.data.water_classes import cax_table
from saltcalc.science import sodicity

amounts = st.floats(0, 500)
NAN = float("nan")


@given(amounts, amounts, amounts)
def test_sar_is_never_infinite_nor_negative(na, ca, mg):
    value = sodicity.sar(na, ca, mg)
    assert np.isnan(value) if ca + mg == 0 else 0 <= value < np.inf


@pytest.mark.parametrize("missing", range(3))
def test_sar_of_a_missing_ion_is_missing(missing):
    ions = [5.0, 2.0, 1.0]
    ions[missing] = NAN
    assert np.isnan(sodicity.sar(*ions))


def test_sar_is_scale_dependent_as_the_root_of_dilution():
    assert sodicity.sar(40, 16, 8) == pytest.approx(2 * sodicity.sar(10, 4, 2))


def test_a_negative_concentration_is_refused():
    with pytest.raises(ValueError, match="magnesium"):
        sodicity.sar(1, 1, -1)


def test_ratios_weigh_potassium_between_nothing_and_sodium():
    na, k, ca, mg = 6.0, 3.0, 4.0, 2.0
    plain, cross, mcar = (
        sodicity.sar(na, ca, mg),
        sodicity.cross(na, k, ca, mg),
        sodicity.mcar(na, k, ca, mg),
    )
    assert plain < cross < mcar
    assert mcar == pytest.approx(plain + sodicity.par(k, ca, mg))


def test_cax_gives_the_table_back_at_its_nodes():
    table = cax_table()
    ratio, ec = np.meshgrid(table.ratio, table.ecw, indexing="ij")
    value, clamped = sodicity.cax(ec, ratio, np.ones_like(ratio))
    np.testing.assert_allclose(value, table.cax, rtol=1e-12)
    assert not clamped.any()


@given(st.floats(0.01, 20), st.floats(0, 60), st.floats(0.01, 60))
def test_cax_stays_within_the_table_and_says_when_it_was_clamped(ec, hco3, ca):
    value, clamped = sodicity.cax(ec, hco3, ca)
    assert 0.18 <= value <= 19.94
    assert clamped == (not 0.1 <= ec <= 8 or not 0.05 <= hco3 / ca <= 30)


def test_cax_without_calcium_is_the_edge_and_without_both_is_missing():
    value, clamped = sodicity.cax([1.0, 1.0, NAN], [2.0, 0.0, 1.0], [0.0, 0.0, 1.0])
    assert value[0] == pytest.approx(0.21)
    assert np.isnan(value[1:]).all()
    assert clamped.tolist() == [True, False, False]


def test_adjusted_sar_rises_where_calcium_precipitates_and_falls_where_lime_dissolves():
    hard = sodicity.adjusted_sar_suarez(5, 6, 2, 6, 1.0)
    soft = sodicity.adjusted_sar_suarez(5, 0.5, 0.5, 0.2, 0.6)
    soft_without_lime = sodicity.adjusted_sar_suarez(5, 0.5, 0.5, 0.2, 0.6, lime=False)
    assert hard.sar > sodicity.sar(5, 6, 2)
    assert not hard.dissolves
    assert soft.sar < sodicity.sar(5, 0.5, 0.5)
    assert soft.dissolves
    assert soft_without_lime.sar == pytest.approx(sodicity.sar(5, 0.5, 0.5))


def test_esp_is_zero_below_the_regression_and_missing_stays_missing():
    assert sodicity.exchangeable_sodium_percentage(0.2) == 0
    assert np.isnan(sodicity.exchangeable_sodium_percentage(NAN))
