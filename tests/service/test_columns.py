"""Requests that are read column by column are as their schema reads them one by one."""

import marshmallow as ma
import pytest

from saltcalc.service.schemas.columns import UNREAD, read_together
from saltcalc.service.schemas.requests import AssessmentRequestSchema
from saltcalc.words.reader import telling
from tests.service.samples import samples

PLAIN = {
    "sample_id": "a",
    "medium": {"extraction": "one_to_two", "ec": "1400 µS/cm", "ions": {"nitrate_n": "65 ppm"}},
    "water": {"ec": 0.5},
    "containers": [{"volume": "3 US gal", "height": "9 inches"}],
    "crops": [{"crop": "lettuce", "stage": "seedling"}],
}


@pytest.fixture
def schema(app):
    with app.test_request_context():
        yield AssessmentRequestSchema()


def loaded(schema, request):
    """Return a request as its schema loads it, or UNREAD where it does not."""
    try:
        with telling():
            return schema.load(request)
    except ma.ValidationError:
        return UNREAD


def in_full(value):
    """Return a loaded value with its kind, the order of its members, and how it was read."""
    if isinstance(value, dict):
        return [(name, in_full(each)) for name, each in value.items()]
    if isinstance(value, list):
        return [in_full(each) for each in value]
    return type(value), value, getattr(value, "__dict__", None)


def test_what_is_read_is_as_the_schema_reads_it_and_nothing_else_is_taken(schema):
    sent = samples(1500, seed=11)
    together = read_together(schema, sent)
    alone = [loaded(schema, each) for each in sent]
    read = [place for place, each in enumerate(together) if each is not UNREAD]
    for place in read:
        assert in_full(together[place]) == in_full(alone[place]), sent[place]
    sound = sum(each is not UNREAD for each in alone)
    assert 0.9 * sound < len(read) <= sound < len(sent)


@pytest.mark.parametrize(
    "change",
    [
        {"medium": {"extraction": "1:2", "ec": "n.d.", "ions": {"chloride": "65 ppm"}}},
        {"medium": 2.3},
        {"medium": {"ec": None, "ph": 6.1}},
        {"containers": {"pot": "5 L"}},
        {"containers": ["5 L", 12]},
        {"containers": [{"top_diameter": 20, "height": "n.d.", "bottom_diameter": 15}]},
        {"containers": []},
        {"containers": ["5 L"] * 101},
        {"crops": "lettuce"},
        {"crops": [None]},
        {"crops": [{}]},
        {"water": {}},
        {"water": {"alkalinity": 2, "ions": {"bicarbonate": "100 mg/L"}}},
        {"observations": "white crust when dry, stalled at first leaves"},
        {"observations": ["", None]},
        {"language": "de", "crops": ["Kopfsalat"]},
        {"language": "Deutsch", "crops": ["Kopfsalat"]},
        {"language": "fr-CH"},
        {"language": " "},
        {"language": 5},
        {"sample_id": 17},
        {"sampled_on": "2025-02-30"},
        {"nothing": 1},
        {"sample_id": True},
    ],
    ids=str,
)
def test_an_odd_request_changes_nothing_for_those_beside_it(schema, change):
    plain, odd = read_together(schema, [PLAIN, PLAIN | change])
    assert in_full(plain) == in_full(loaded(schema, PLAIN))
    if odd is not UNREAD:
        assert in_full(odd) == in_full(loaded(schema, PLAIN | change))


@pytest.mark.parametrize("request_", [None, [], "lettuce", 3, {}, [PLAIN]], ids=str)
def test_what_is_no_request_is_left_to_the_schema(schema, request_):
    assert read_together(schema, [request_]) == [UNREAD]


def test_plain_requests_of_several_shapes_are_all_read(schema):
    rows = [PLAIN, {"medium": {"ec": 2}}, {"medium": {"ec": 2.5}}, PLAIN | {"language": "de"}]
    assert UNREAD not in read_together(schema, rows)
