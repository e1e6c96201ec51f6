"""What a request says of its sample comes back; what is not a day or a language is refused."""

import pytest

from tests.conftest import CONTRACT
from tests.service.test_api_spec import EXAMPLES

COMPUTED = sorted(path for path in EXAMPLES if path != "/v1/comparisons")
SAID = {"sample_id": "tunnel-1", "sampled_on": "2025-04-02"}


@pytest.mark.parametrize("path", COMPUTED)
def test_every_answer_repeats_its_sample_first_and_is_else_the_same(post, path):
    plain = post(path, EXAMPLES[path])
    answer = post(path, EXAMPLES[path] | SAID | {"language": "en"})
    assert list(answer.items())[:2] == list(SAID.items())
    traced = {"trace": plain["trace"] | {"request": answer["trace"]["request"]}}
    assert {name: each for name, each in answer.items() if name not in SAID} == plain | traced


def test_media_that_are_compared_are_told_apart_by_their_samples(post):
    media = [
        {"name": "bed", "medium": {"ec": 1}, **SAID},
        {"medium": {"ec": 2}},
        {"medium": {"ec": 3}, "sample_id": "tunnel-3"},
    ]
    answer = post("/v1/comparisons", {"media": media})
    assert answer["samples"] == [
        {"name": "bed", **SAID},
        {"name": "tunnel-3", "sample_id": "tunnel-3"},
    ]
    unsaid = [{"medium": {"ec": 1}}, {"medium": {"ec": 2}}]
    assert "samples" not in post("/v1/comparisons", {"media": unsaid})


@pytest.mark.parametrize(
    "day", ["12.3.2025", "2025-3-12", "20250312", "2025-W11-3", "2025-02-30", 20250312]
)
def test_a_day_is_written_one_way(refuse, day):
    problem = refuse("/v1/assessments", {"medium": {"ec": 1}, "sampled_on": day})
    (fault,) = problem["errors"]
    assert fault["pointer"] == "/sampled_on"
    assert fault["accepted"] == "a day as year-month-day, such as 2025-03-12"


@pytest.mark.parametrize("language", ["pt", "xx", "klingon"])
def test_another_language_is_refused_with_the_list(refuse, language):
    problem = refuse("/v1/assessments", {"medium": {"ec": 1}, "language": language})
    (fault,) = problem["errors"]
    assert fault["pointer"] == "/language"
    assert fault["accepted"] == "one of: en, de, fr, es, it, nl, en-GB, en-US"


def test_an_id_has_an_end(refuse):
    for sample_id in ("x" * 101, ["7"]):
        problem = refuse("/v1/assessments", {"medium": {"ec": 1}, "sample_id": sample_id})
        assert [fault["pointer"] for fault in problem["errors"]] == ["/sample_id"]


def test_a_sample_alone_is_nothing_to_compute(refuse):
    refuse("/v1/ions", SAID)


def test_the_contract_calls_the_day_a_date():
    assert CONTRACT["components"]["schemas"]["Assessment"]["properties"]["sampled_on"][
        "format"
    ] == ("date")
