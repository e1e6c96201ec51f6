"""Whatever is sent, the answer comes soon, is small, and holds no number that JSON has not.

Bounds are in seconds of this process's own work and in bytes, wide enough for a slow machine; each
of these requests took many seconds, or megabytes, or never ended, before it had a bound.
"""

import io
import json
import math
import random
import sys
import time

import marshmallow as ma
import pytest

from saltcalc import quantities, units
from saltcalc.parts.flush.case import MAX_PASSES
from saltcalc.service import fields, logs
from saltcalc.service.app import create_app
from saltcalc.service.config import read_settings
from saltcalc.service.lab_report import LONGEST, read_report
from saltcalc.service.problems import MEDIA_TYPE
from saltcalc.service.schemas import flush_requests, requests

SOON = 2.0
"""Seconds."""
SMALL_FAULT = 64_000
"""Bytes."""

MEDIUM = {"extraction": "one_to_two", "ec": 3}
POT = {"volume": "20 L", "height": "30 cm", "drainage": "open"}


@pytest.fixture
def timed(client):
    """Post a body, and return the answer once it has been held to its bounds."""

    def send(path, request, seconds=SOON, **options):
        began = time.process_time()
        response = client.post(path, **(options or {"json": request}))
        assert time.process_time() - began < seconds
        if response.status_code != 200:
            assert response.mimetype == MEDIA_TYPE
            assert len(response.data) <= SMALL_FAULT
        json.loads(response.text, parse_constant=pytest.fail)
        return response

    return send


def flooded(**changes):
    return {
        "medium": MEDIUM,
        "water": {"ec": 0.5},
        "crops": [{"crop": "lettuce"}],
        "containers": [POT | changes],
    }


@pytest.mark.parametrize("head_space", ["0.1 mm", "0.001 mm", "1e-9 mm", 0])
def test_no_head_space_is_less_than_a_millimetre(timed, head_space):
    response = timed("/v1/assessments", flooded(head_space=head_space))
    (fault,) = response.json["errors"]
    assert (response.status_code, fault["pointer"]) == (422, "/containers/0/head_space")
    assert "from 0.1 to 1000 cm" in fault["accepted"]


def test_the_least_head_space_on_the_largest_container_is_answered_soon(timed):
    request = flooded(head_space="1 mm", volume="100 m3", height="10 m") | {"rest": "48 h"}
    request["medium"] = MEDIUM | {"ec": 100}
    response = timed("/v1/assessments", request)
    assert response.status_code == 200
    assert len(response.data) < 100_000
    assert all(plan["passes"] <= MAX_PASSES for plan in response.json["flush_plan"])


@pytest.mark.parametrize("target", [2.2e-308, 1e-12, 0, 0.009])
def test_a_target_that_nothing_reaches_is_refused(timed, target):
    response = timed("/v1/assessments", flooded() | {"target_ec": target})
    (fault,) = response.json["errors"]
    assert (response.status_code, fault["pointer"]) == (422, "/target_ec")
    assert "from 0.01 to 100 dS/m" in fault["accepted"]


@pytest.mark.parametrize(
    ("pointer", "change"),
    [
        ("/irrigation", {"irrigation": 1e-300}),
        ("/evapotranspiration", {"evapotranspiration": 1e-300}),
        ("/medium/ec", {"medium": MEDIUM | {"ec": 1e-300}}),
        ("/medium/ions/sodium", {"medium": MEDIUM | {"ions": {"sodium": 1e-300}}}),
        ("/water/hardness", {"water": {"hardness": 1e-300}}),
        ("/containers/0/volume", {"containers": [{"volume": 1e-300}]}),
        ("/containers/0/height", {"containers": [POT | {"height": 1e-300}]}),
    ],
)
def test_what_nothing_measures_is_refused(timed, pointer, change):
    response = timed("/v1/assessments", flooded() | change)
    assert response.status_code == 422
    assert pointer in [fault["pointer"] for fault in response.json["errors"]]


@pytest.mark.parametrize(
    "change", [{"irrigation": 0, "evapotranspiration": 0}, {"medium": MEDIUM | {"ec": 0}}]
)
def test_nothing_at_all_is_still_a_figure(timed, change):
    assert timed("/v1/assessments", flooded() | change).status_code == 200


def under_way(readings, **container):
    return {
        "medium": MEDIUM | {"container_capacity": 0.05},
        "water": {"ec": 0.5},
        "containers": [{"volume": "20 L", "drainage": "open"} | container],
        "readings": readings,
    }


@pytest.mark.parametrize(
    ("container", "applied"),
    [
        ({"volume": "1 mL", "height": "1 cm"}, ["1000 L"]),
        ({"volume": "1 mL", "height": "1 cm"}, ["100000 L"]),
        ({"volume": "1 L"}, ["20 L", "15 L", "10 L"]),
    ],
)
def test_more_water_than_a_flush_takes_is_refused(timed, container, applied):
    readings = [{"applied": litres, "ec_drainage": 2} for litres in applied]
    response = timed("/v1/flush-plans/progress", under_way(readings, **container))
    (fault,) = response.json["errors"]
    assert response.status_code == 422
    assert fault["pointer"] == f"/readings/{len(applied) - 1}/applied"
    assert "40 times" in fault["detail"]


def test_the_most_readings_are_answered(timed):
    readings = [
        {"applied": 8 - place / 100, "ec_drainage": (0.001, 99)[place % 2]} for place in range(100)
    ]
    response = timed("/v1/flush-plans/progress", under_way(readings), seconds=20)
    assert response.status_code == 200
    assert len(response.data) < 100_000
    response = timed("/v1/flush-plans/progress", under_way(readings * 2))
    assert response.json["errors"][0]["pointer"] == "/readings"


TOO_MANY = {
    "signs": {"medium": MEDIUM, "observations": [""] * 24_000},
    "containers": {"medium": MEDIUM, "containers": [{}] * 24_000},
    "containers in bare gallons": {"medium": MEDIUM, "containers": [{"volume": "1 gal"}] * 4_500},
    "valid containers": {"medium": MEDIUM, "containers": [{"volume": 1}] * 6_000},
    "crops of long names": {"medium": MEDIUM, "crops": [{"crop": "q w" * 40}] * 700},
}


@pytest.mark.parametrize("case", TOO_MANY)
def test_a_list_is_refused_for_its_length_alone(timed, case):
    response = timed("/v1/assessments", TOO_MANY[case])
    assert response.status_code == 422
    assert len(response.data) < 2_500
    (fault,) = response.json["errors"]
    assert "Longer than maximum length 100" in fault["detail"]


@pytest.mark.parametrize(
    ("request_", "count"),
    [
        ({"medium": MEDIUM, "observations": ["x"] * 100}, 100),
        ({"medium": MEDIUM, "crops": [{"crop": "q" * 900}] * 100}, 100),
        ({"medium": MEDIUM} | {f"unknown {place}": 1 for place in range(5_000)}, 5_000),
    ],
)
def test_the_first_faults_are_told_and_the_rest_counted(timed, request_, count):
    problem = timed("/v1/assessments", request_).json
    assert 25 <= len(problem["errors"]) <= 50
    assert len(problem["errors"]) + problem["errors_left_out"] == count
    assert problem["detail"] == f"{count} fields are at fault."


def test_faults_are_told_in_the_order_in_which_the_fields_were_sent(timed):
    names = [f"unknown {place}" for place in random.Random(1).sample(range(1000), 60)]
    request = dict.fromkeys(names, 1) | {"water": {"ec": "x", "b": 1, "a": 1}, "medium": MEDIUM}
    told = [fault["pointer"] for fault in timed("/v1/assessments", request).json["errors"]]
    assert told == [f"/{name}" for name in names[:50]]
    request = {"z": 1, "water": {"b": 1, "ec": "x", "a": 1}, "y": 1}
    told = [fault["pointer"] for fault in timed("/v1/assessments", request).json["errors"]]
    assert told == ["/z", "/water/b", "/water/ec", "/water/a", "/y"]


def test_the_name_of_an_unknown_field_is_cut_short(timed):
    response = timed("/v1/assessments", {"medium": MEDIUM, "u" * 90_000: 1})
    assert response.status_code == 422
    assert len(response.data) < 2_000


def test_few_faults_are_all_told(timed):
    problem = timed("/v1/assessments", {"medium": MEDIUM, "containers": [{}, {}]}).json
    assert len(problem["errors"]) == 2
    assert "errors_left_out" not in problem


def test_a_body_is_at_most_100_kb_if_nothing_else_is_set(timed):
    body = json.dumps({"medium": {"ec": 1}, "observations": [""] * 330_000})
    response = timed("/v1/assessments", None, data=body, content_type="application/json")
    assert response.status_code == 413
    assert "100000 bytes" in response.json["detail"]


@pytest.mark.parametrize("length", [101, 8_000, 90_000])
@pytest.mark.parametrize("spelling", ["text", "object"])
def test_the_text_of_a_quantity_is_cut_off_before_it_is_read(timed, length, spelling):
    unit = ("ppmA" * length)[: length - 1] + "!"
    given = f"1 {unit}" if spelling == "text" else {"value": 1, "unit": unit}
    response = timed("/v1/ions", {"water": {"ions": {"sodium": given}}}, seconds=0.5)
    (fault,) = response.json["errors"]
    assert response.status_code == 422
    assert "at most 100 characters" in fault["detail"]


def test_members_that_stand_twice_are_found_in_one_pass(timed):
    names = ",".join(f'"a{place}":1' for place in range(8_000))
    body = f'{{{names},"b":1,"b":2}}'
    response = timed(
        "/v1/assessments", None, seconds=0.5, data=body, content_type="application/json"
    )
    assert response.status_code == 400
    assert "'b' occurs twice" in response.json["detail"]


def test_a_comparison_has_room_for_so_many_pairs_of_medium_and_container(timed):
    def compare(media, containers):
        return timed(
            "/v1/comparisons",
            {
                "media": [{"medium": MEDIUM}] * media,
                "containers": [{"volume": 20, "drainage": "open"}] * containers,
                "crops": [{"crop": "lettuce"}] * 20,
            },
            seconds=10,
        )

    refused = compare(50, 20)
    assert refused.status_code == 422
    assert refused.json["errors"][0]["pointer"] == "/containers"
    answered = compare(50, 4)
    assert answered.status_code == 200
    assert len(answered.data) < 2_000_000


def test_units_without_end_are_not_all_remembered(monkeypatch):
    monkeypatch.setattr(units, "MOST_UNITS", 100)
    tried = 0
    for first in ("kilo", "milli", "micro", "nano", "mega"):
        for second in ("gram", "meter", "liter", "second", "mole", "day", "hour", "foot"):
            for third in ("inch", "yard", "acre", "minute", "week", "pound", "ounce", "ton"):
                tried += 1
                with pytest.raises(units.QuantityError):
                    quantities.read_quantity(f"1 {first}{second}/{third}^3", units.EC)
    assert tried > 300
    memory = units.registry._cache
    for found in (memory.root_units, memory.dimensionality, memory.conversion_factor):
        assert len(found) <= 402
    assert len(memory.parse_unit) <= 402
    assert units.parse_unit.cache_info().maxsize == 1000
    assert units.parse_unit("mg   /  L") == units.parse_unit("mg / L")


@pytest.mark.parametrize("figure", [math.nan, math.inf, -math.inf])
def test_a_number_that_json_has_not_never_leaves(app, monkeypatch, figure):
    def broken(*_):
        return {"assumptions": [{"id": "made-up", "value": figure}]}

    monkeypatch.setattr("saltcalc.service.body.as_json", broken)
    monkeypatch.setitem(app.config, "PROPAGATE_EXCEPTIONS", False)
    response = app.test_client().post("/v1/assessments", json=flooded())
    assert (response.status_code, response.mimetype) == (500, MEDIA_TYPE)
    json.loads(response.text, parse_constant=pytest.fail)


class _Writes(io.StringIO):
    """A standard output that keeps each write apart."""

    def __init__(self):
        super().__init__()
        self.written = []

    def write(self, text):
        self.written.append(text)
        return len(text)


def test_a_log_line_is_written_in_one_piece(monkeypatch):
    writes = _Writes()
    monkeypatch.setattr(sys, "stdout", writes)
    try:
        client = create_app(read_settings({})).test_client()
        for _ in range(3):
            client.get("/healthz")
    finally:
        monkeypatch.undo()
        logs.configure("INFO")
    assert len(writes.written) == 3
    for line in writes.written:
        assert line.endswith("}\n")
        assert json.loads(line)["event"] == "request"


def test_made_up_methods_share_one_label(client):
    client.open("/x", method="METHOD0")
    before = client.get("/metrics").text
    client.get("/metrics")
    for place in range(1, 31):
        client.open("/x", method=f"METHOD{place}")
    after = client.get("/metrics").text
    assert "METHOD" not in after
    assert 'method="other"' in after
    assert len(after.splitlines()) <= len(before.splitlines()) + 40


SCHEMAS = {
    "/v1/assessments": requests.AssessmentRequestSchema,
    "/v1/comparisons": requests.ComparisonRequestSchema,
    "/v1/ions": requests.SolutionsRequestSchema,
    "/v1/sodicity": requests.SolutionsRequestSchema,
    "/v1/flush-plans": requests.FlushPlanRequestSchema,
    "/v1/leaching-requirement": requests.LeachingRequirementRequestSchema,
    "/v1/leaching-fraction": flush_requests.LeachingFractionRequestSchema,
    "/v1/crops/ranking": requests.RankingRequestSchema,
    "/v1/conductivity/convert": requests.ConversionRequestSchema,
}
OFTEN_AT_ODDS = {
    *("top_diameter", "bottom_diameter", "height"),
    *("retention", "hardness", "alkalinity"),
    *("cat", "mineral_n", "died_at"),
}
ODDS = dict.fromkeys(OFTEN_AT_ODDS, 0.05) | {"volume": 0.95}
"""How likely each field is filled in; others are in one of two."""


def extreme(field, rng):
    """Return a value at an end of what a field of a request takes."""
    match field:
        case fields.Quantity(kind=kind):
            end = rng.choice([kind.low, kind.least or kind.low, 0.999 * kind.high])
            return {"value": end, "unit": kind.internal} if kind.unit != "°C" else end
        case fields.Number() | fields.Count():
            limits = next(v for v in field.validators if isinstance(v, ma.validate.Range))
            return rng.choice([limits.min, limits.max])
        case ma.fields.Date():
            return rng.choice(["1900-01-01", "2026-05-01"])
        case fields.Choice():
            return rng.choice(field.choices)
        case fields.TableId():
            return "lettuce" if "crop" in field.listing else "sphagnum_peat"
        case ma.fields.Nested():
            return extremes(field.schema, rng)
        case ma.fields.List():
            return [extreme(field.inner, rng) for _ in range(2)]
        case _:
            return f"name {rng.random()}"


def extremes(schema, rng):
    return {
        name: extreme(field, rng)
        for name, field in schema.fields.items()
        if field.required or rng.random() < ODDS.get(name, 0.5)
    }


@pytest.mark.parametrize("path", SCHEMAS)
def test_the_ends_of_all_ranges_are_answered_soon_and_in_numbers(timed, path):
    rng = random.Random(path)
    answers = [timed(path, extremes(SCHEMAS[path](), rng), seconds=5) for _ in range(25)]
    statuses = [answer.status_code for answer in answers]
    assert set(statuses) <= {200, 422}
    assert statuses.count(200) >= 2
    assert all(len(answer.data) < 200_000 for answer in answers)


@pytest.mark.parametrize(
    "line", ["calcium (\n", "a\n", "EC pH\n", "Na\t", "Ca -\n", "x: y: z\n", "9 mg/L\n"]
)
def test_a_long_report_is_read_soon(line):
    with create_app().test_request_context():
        began = time.process_time()
        read_report(line * (LONGEST // len(line)))
        assert time.process_time() - began < SOON


def test_a_long_report_of_unlike_lines_is_read_soon():
    lines = "".join(
        f"{chr(97 + place % 26)}{chr(97 + place // 26 % 26)}{place % 7}\n" for place in range(5000)
    )
    with create_app().test_request_context():
        began = time.process_time()
        read_report(lines[:LONGEST])
        assert time.process_time() - began < SOON
