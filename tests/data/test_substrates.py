import math

from saltcalc.data.substrates import MEDIUM_CLASSES, substrates
from saltcalc.science.substrate import RetentionCurve, curve_through_capacity, mean_water_content


def test_at_least_fifteen_media_and_every_class():
    media = substrates()
    assert len(media) >= 15
    assert {substrate.medium_class for substrate in media.values()} == set(MEDIUM_CLASSES)


def test_every_medium_has_a_curve_that_gives_its_stated_capacity():
    for substrate in substrates().values():
        if substrate.basis == "curve":
            curve = RetentionCurve(
                substrate.theta_s, substrate.theta_r, substrate.alpha, substrate.n
            )
            assert substrate.theta_r < mean_water_content(15.0, curve) < substrate.theta_s
        else:
            curve = curve_through_capacity(
                substrate.container_capacity,
                substrate.capacity_height,
                substrate.total_porosity,
                substrate.theta_r,
                substrate.n,
            )
            held = mean_water_content(substrate.capacity_height, curve)
            assert math.isclose(held, substrate.container_capacity, abs_tol=1e-9), substrate.id
