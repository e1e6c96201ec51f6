import pytest

from saltcalc.science.exchange_amendments import coir_soak, gypsum_rate, gypsum_water


def test_gypsum_of_the_handbook():
    """Agriculture Handbook 60 (from memory): a milliequivalent of sodium in 100 g of soil takes
    1.7 tons of gypsum an acre-foot (4 million pounds), at full replacement: 0.86 g/kg."""
    one_milliequivalent = gypsum_rate(10.0, 0.0, 10.0, 1.0) * 0.8  # 10 % of 10 cmol_c/kg
    assert one_milliequivalent == pytest.approx(0.86, abs=0.005)
    assert one_milliequivalent * 1e-3 * 4e6 / 2000 == pytest.approx(1.7, abs=0.05)


def test_a_medium_without_excess_sodium_needs_none():
    assert gypsum_rate(5.0, 10.0, 20.0, 1.2) == 0


def test_more_clay_and_more_sodium_take_more():
    assert (
        gypsum_rate(30, 10, 25, 1.2) > gypsum_rate(30, 10, 10, 1.2) > gypsum_rate(20, 10, 10, 1.2)
    )


def test_the_water_dissolves_it():
    assert gypsum_water(24.0) == pytest.approx(10.0)


def test_the_soak_is_that_of_the_trial():
    """Gbollie, Mwonga & Kibe (2021): 1.5 kg, 100 g, 15 L, 36 h."""
    got = coir_soak(1.5)
    assert (got.calcium_nitrate, got.water, got.hours) == (
        pytest.approx(100.0),
        pytest.approx(15.0),
        36.0,
    )


@pytest.mark.parametrize("wrong", [(-1, 0, 10, 1), (30, 10, -10, 1)])
def test_negative_figures_are_refused(wrong):
    with pytest.raises(ValueError, match="negative"):
        gypsum_rate(*wrong)
