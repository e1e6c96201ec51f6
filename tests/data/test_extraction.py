import pytest

from saltcalc.data.extraction import (
    MEDIUM_KINDS,
    class_schemes,
    ec_conversions,
    extraction_methods,
    governing_schemes,
)


@pytest.mark.parametrize("medium", MEDIUM_KINDS)
@pytest.mark.parametrize("method", [method.id for method in extraction_methods()])
def test_every_method_reaches_its_basis_in_every_medium(method, medium):
    governing, *others = ec_conversions(method, medium)
    basis = next(each.basis for each in extraction_methods() if each.id == method)
    assert governing.governing
    assert {conversion.to for conversion in [governing, *others]} == {basis}


def test_methods_without_published_classes_have_none():
    assert {"one_to_one_and_half", "pore_water_sensor"}.isdisjoint(governing_schemes())


def test_rank_zero_is_what_most_plants_want():
    for scheme in class_schemes():
        ranks = [each.rank for each in scheme.classes]
        assert ranks == sorted(set(ranks))
        assert 0 in ranks
