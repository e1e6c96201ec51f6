import numpy as np

from saltcalc.data.crops import catalogue
from saltcalc.parts.crops.limits import crop_limits


def test_every_field_has_one_figure_a_crop():
    crops = list(catalogue().crops.values())
    assert {np.shape(column) for column in vars(crop_limits(crops)).values()} == {(len(crops),)}


def test_the_warning_boron_limit_is_taken_and_the_higher_one_kept_as_the_other_end():
    bean, onion, lemon = (catalogue().crops[name] for name in ("bean", "onion", "lemon"))
    limits = crop_limits([bean, onion, lemon])
    assert list(limits.boron_low) == [1.0, 0.5, 0.5]
    assert limits.boron_high[1] == 8.9
    assert limits.boron_slope[0] == 12


def test_rootstocks_give_a_range_of_chloride_limits_and_no_slope():
    limits = crop_limits([catalogue().crops["avocado"], catalogue().crops["bean"]])
    assert list(limits.chloride_low) == [5, 10]
    assert list(limits.chloride_high) == [7.5, 10]
    assert np.isnan(limits.chloride_slope[0])
    assert limits.chloride_slope[1] == 1.9
