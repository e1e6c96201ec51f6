import numpy as np
import pytest

from saltcalc.data.extraction import method_codes
from saltcalc.science.extraction import Pores
from saltcalc.science.salinity_classes import class_of_ec, classify_reading

CODE = method_codes()


def test_method_without_classes_is_classed_on_the_saturated_extract_with_a_range():
    result = classify_reading([3.2, 3.2], CODE["pore_water_sensor"], [0, 2], Pores(0.9, 0.6))
    assert result.method.tolist() == [CODE["saturated_media_extract"], CODE["saturated_paste"]]
    assert (result.low <= result.code).all()
    assert (result.code <= result.high).all()
    assert result.low[0] < result.high[0]


def test_own_classes_have_no_range():
    result = classify_reading([1.0, np.nan], CODE["one_to_two"], 0)
    assert result.code.tolist() == result.low.tolist() == result.high.tolist() == [2, -1]


def test_reading_on_a_limit_belongs_to_the_lower_class():
    assert class_of_ec([0.8, 0.81, np.nan], [0.8, 2.0, np.inf]).tolist() == [0, 1, -1]


@pytest.mark.parametrize(
    ("ec", "method", "medium"),
    [(-1.0, 0, 0), (1.0, len(CODE), 0), (1.0, -1, 0), (1.0, 0, -1), (1.0, 0, 99)],
)
def test_arguments_without_meaning(ec, method, medium):
    with pytest.raises(ValueError, match=r"negative|unknown"):
        classify_reading(ec, method, medium)
