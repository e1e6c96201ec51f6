"""A batch of many is many batches of one."""

import copy
import json

import pytest

from saltcalc.case.intake import readings_of
from saltcalc.parts.answer import answer_assessment
from saltcalc.service.catalogues import assessment_of
from saltcalc.service.schemas.requests import AssessmentRequestSchema
from saltcalc.words.catalogue import words
from saltcalc.words.rendering import as_json


@pytest.fixture
def requests(demo_request):
    bare = {"medium": {"ec": 1.1}, "containers": [{"volume": 5}]}
    ions_only = {"medium": {"ions": {"sodium": 400, "nitrate_n": 150}}}
    press = copy.deepcopy(demo_request)
    press["medium"] |= {"extraction": "press", "ec": 9, "substrate": "pine_bark"}
    press["crops"] = [{"crop": "lettuce"}, {"crop": "tomato", "stage": "established"}]
    soil = copy.deepcopy(demo_request)
    soil["medium"] |= {"extraction": "saturated_paste", "substrate": "loam"}
    del soil["water"], soil["crops"]
    return [demo_request, bare, ions_only, press, soil]


def answers(given):
    with_app = [AssessmentRequestSchema().load(request) for request in given]
    assessment = assessment_of(*with_app)
    return [
        as_json(answer_assessment(assessment, list(readings_of(request)), sample), words())
        for sample, request in enumerate(with_app)
    ]


def test_each_sample_of_a_batch_is_answered_as_if_alone(app, requests):
    with app.app_context():
        together = answers(requests)
        alone = [answers([request])[0] for request in requests]
    for one, other in zip(together, alone, strict=True):
        assert json.dumps(one, indent=1) == json.dumps(other, indent=1)


def test_the_order_of_samples_does_not_matter(app, requests):
    with app.app_context():
        forward, backward = answers(requests), answers(requests[::-1])
    assert forward == backward[::-1]
