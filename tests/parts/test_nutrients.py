import numpy as np
import pytest

from saltcalc.data.nutrients import NUTRIENTS
from saltcalc.service.catalogues import assessment_of
from saltcalc.service.schemas.requests import AssessmentRequestSchema

MEDIA = [
    {"ec": 2, "ph": 5.2, "ions": {"nitrate_n": 20, "magnesium": 10}},
    {"ec": 0.9, "extraction": "one_to_two", "ions": {"nitrate_n": 45, "calcium": 40}},
    {"ec": 3, "extraction": "saturated_paste", "substrate": "loam", "ph": 6.4},
    {"ions": {"ammonium_n": 30}, "micronutrients": {"extract": "dtpa", "iron": 20}},
    {"ec": 4, "extraction": "pore_water_sensor", "ions": {"nitrate_n": 100}},
]


@pytest.fixture(scope="module")
def in_app(app):
    with app.app_context():
        yield


def assessed(media):
    loaded = [
        AssessmentRequestSchema().load(
            {"medium": medium, "containers": [{"volume": 1 + place}, {"volume": 0.1}]}
        )
        for place, medium in enumerate(media)
    ]
    return assessment_of(*loaded).nutrients


def nitrogen_of(found):
    """Return what is held, and how long it lasts at each stage."""
    return found.nitrogen_held(), *(weeks() for weeks in found.nitrogen_weeks)


@pytest.fixture(scope="module")
def together(in_app):
    return assessed(MEDIA)


@pytest.mark.parametrize("place", range(len(MEDIA)))
def test_a_batch_is_its_samples_side_by_side(together, in_app, place):
    # The volume of the first container follows the place, so place the sample where it was.
    alone = assessed(MEDIA[: place + 1])
    for name in ("value", "limits", "status", "status_low", "status_high", "share"):
        np.testing.assert_array_equal(getattr(alone, name)[place], getattr(together, name)[place])
    rows = slice(2 * place, 2 * place + 2)
    for own, all_ in zip(nitrogen_of(alone), nitrogen_of(together), strict=True):
        for mine, whole in zip(own, all_, strict=True):
            np.testing.assert_array_equal(mine[rows], whole[rows])


def test_nitrogen_of_a_container_does_not_depend_on_how_the_water_was_taken_out(together):
    # The saturated extract fills the pores: 20 mg/L in a medium of 75 % pores, 1 L of it.
    column = NUTRIENTS.index("nitrate_n")
    assert together.value[0, column] == pytest.approx(20.0)
    assert together.nitrogen_held().value[0] == pytest.approx(20.0 * 0.75, rel=0.02)


def test_intervals_hold_their_values(together):
    for part in (*nitrogen_of(together), together.organic_nitrogen()):
        known = ~np.isnan(part.value)
        assert np.all(part.low[known] <= part.value[known])
        assert np.all(part.value[known] <= part.high[known])
