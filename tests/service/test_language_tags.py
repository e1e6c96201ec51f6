"""A language may come with a region, as browsers and operating systems write it (BCP 47)."""

import re

import pytest

REQUEST = {"medium": {"ec": 2, "extraction": "one_to_two"}}


@pytest.mark.parametrize(
    ("tag", "language"),
    [
        ("de-DE", "de"), ("de-CH", "de"), ("de-AT", "de"), ("fr-CA", "fr"), ("es-MX", "es"),
        ("es-419", "es"), ("en-AU", "en"), ("en-GB", "en"), ("de_DE", "de"), ("de", "de"),
    ],
)  # fmt: skip
def test_a_region_goes_with_its_language(client, tag, language):
    answer = client.post("/v1/assessments?parts=summary", json=REQUEST | {"language": tag})
    assert answer.status_code == 200
    assert answer.headers["Content-Language"] == language


@pytest.mark.parametrize("tag", ["zh-CN", "pt-BR", "xx", "de DE", "d-DE"])
def test_a_language_without_names_is_refused_and_the_known_ones_told(client, tag):
    answer = client.post("/v1/assessments", json=REQUEST | {"language": tag})
    assert answer.status_code == 422
    (fault,) = answer.json["errors"]
    assert fault["pointer"] == "/language"
    assert "de" in fault["accepted"]


def test_the_contract_says_so_and_names_the_headers(client):
    spec = client.get("/openapi.json").json
    told = spec["info"]["description"]
    for header in ("Accept-Language", "ETag", "If-None-Match", "gzip", "Retry-After"):
        assert header in told
    fields = [
        each["properties"]["language"]
        for each in spec["components"]["schemas"].values()
        if "anyOf" in each.get("properties", {}).get("language", {})
    ]
    assert len(fields) > 5
    for each in fields:
        patterns = [form["pattern"] for form in each["anyOf"] if "pattern" in form]
        assert any(re.search(pattern, "de-CH") for pattern in patterns)
