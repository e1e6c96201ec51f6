import math

import numpy as np
import pytest

from saltcalc.case.intake import batch_of as lay_out
from saltcalc.data.crops import catalogue, sowings
from saltcalc.parts.assessment import assess
from saltcalc.parts.crops.ranking import alternatives, rank_crops
from saltcalc.science.crop_limits import Verdict


@pytest.fixture(scope="module")
def crops():
    return catalogue().in_order


def requests():
    plantings = [
        {"crop": "bean", "stage": "germination"},
        {"crop": "tomato", "stage": "seedling"},
        {"crop": "rose", "stage": "established"},
    ]
    media = [
        {"ec": 1.0, "extraction": "one_to_two"},
        {"ec": 4.0, "extraction": "saturated_media_extract", "ions": {"chloride": 12.0}},
        {"ec": 2.0, "extraction": "pour_through", "ions": {"boron": 1.5}},
        {"ec": 0.0, "extraction": "one_to_five"},
        {"ions": {"chloride": 3.0}},
    ]
    return [{"medium": medium, "crops": plantings} for medium in media]


@pytest.fixture
def batch_of(app):
    with app.app_context():
        ids = [crop.id for crop in catalogue().crops.values()]
    return lambda given: lay_out(given, ids)


def test_a_batch_judges_as_its_samples_do_alone(batch_of, crops):
    together = assess(batch_of(requests()), crops)
    for sample, request in enumerate(requests()):
        alone = assess(batch_of([request]), crops)
        rows = together.batch.plantings.sample == sample
        for name in ("verdict", "best", "worst", "governing", "response", "emergence"):
            np.testing.assert_array_equal(
                getattr(together.crops.verdicts, name)[rows], getattr(alone.crops.verdicts, name)
            )
        np.testing.assert_array_equal(
            together.crops.max_tolerated_ec[rows], alone.crops.max_tolerated_ec
        )
        np.testing.assert_array_equal(together.crops.ec_at_yields[rows], alone.crops.ec_at_yields)


def test_alternatives_are_sown_for_the_same_use_and_are_not_the_crop(batch_of, crops):
    found = assess(batch_of(requests()), crops)
    sample, stage = np.array([1, 2]), np.array([1, 2])
    ranking = rank_crops(found, sample, stage)
    codes = {crop.id: code for code, crop in enumerate(crops)}
    for row in (0, 1):
        for name in (crop.id for crop in crops if not crop.unknown):
            others = alternatives(ranking, row, codes[name], crops)
            assert codes[name] not in others
            assert len(others) <= 3
            assert all(sowings()[crops[code].id] & sowings()[name] for code in others)
            assert not any(math.isnan(crops[code].threshold) for code in others)
            verdict = ranking.verdicts.verdict[row][others]
            assert np.isin(verdict, [Verdict.TOLERATES, Verdict.CAUTION]).all()
