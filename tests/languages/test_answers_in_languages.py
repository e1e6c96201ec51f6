"""Answers in each language: whole, short enough, without a word of English."""

import functools
import html
import re

import pytest

from saltcalc.service.pages.form import typed_of
from saltcalc.words.reader import telling
from saltcalc.words.text import as_text, full, short
from saltcalc.words.trial_text import as_markdown, sections
from tests.golden.record import requests
from tests.languages.pseudo import OTHERS
from tests.languages.test_pseudo import NO_SENTENCE
from tests.pages.test_trial import TYPED
from tests.words.test_short import OF_ONE_KIND, within_limits

FREQUENT = re.compile(
    r"\b(?:the|and|of|with|that|from|than|above|below|this|are|which|where|when|until|by|"
    r"at|most|least|above|below|not|water|crop|crops|plants|medium|seedling|established|"
    r"high|low|too|more|less|given|taken|reads|reading|figure|figures|limit|if)\b"
)
"""Frequent words of English that are none of German, French or Spanish."""
NO_ENGLISH_ALONE = {"de": {"medium", "limit"}, "fr": set(), "es": set()}
QUOTED = re.compile(r"'[^']*'|\"[^\"]*\"|/[a-z_/0-9]+|`[^`]*`")
LISTED = re.compile(r"\b[a-z_0-9]+(?:, [a-z_0-9]+){3,}")
"""Ids that a fault lists."""
BROKEN = re.compile(r"\b(?:nan|inf|None)\b|[{}]")


def told(node):
    """Yield the sentences of an answer."""
    if isinstance(node, dict):
        for name, member in node.items():
            if name not in NO_SENTENCE and not (name == "crops" and _is_names(member)):
                yield from told(member)
    elif isinstance(node, list):
        for member in node:
            yield from told(member)
    elif isinstance(node, str) and " " in node:
        yield node


def _is_names(member):
    return isinstance(member, list) and all(isinstance(each, str) for each in member)


@pytest.mark.parametrize("language", OTHERS)
def test_no_sentence_is_broken_or_left_in_english(language, client):
    english, broken, asked = [], [], 0
    for request in requests():
        response = client.open(
            request["path"],
            method=request["method"],
            json=request["body"],
            headers={"Accept-Language": language},
        )
        asked += 1
        assert response.headers["Content-Language"] == language
        body = request["body"] or {}
        owners = [*body.get("containers", []), *body.get("media", [])]
        names = [each["name"] for each in owners if isinstance(each, dict) and "name" in each]
        for sentence in told(response.json):
            ours = functools.reduce(lambda text, name: text.replace(name, " "), names, sentence)
            left = FREQUENT.findall(LISTED.sub(" ", QUOTED.sub(" ", ours)))
            if len({*left} - NO_ENGLISH_ALONE.get(language, set())) > 1:
                english.append((left, sentence))
            if response.status_code == 200 and BROKEN.search(QUOTED.sub(" ", sentence)):
                broken.append(sentence)
    assert asked >= 200
    assert not english
    assert not broken


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("request_", OF_ONE_KIND.values(), ids=OF_ONE_KIND)
def test_the_short_words_are_short_in_each_language(request_, language, post):
    answer = post("/v1/assessments", request_ | {"language": language})
    with telling(language):
        sheet = short(answer, request_)
        text = as_text(sheet)
        assert not BROKEN.search(full(answer))
    within_limits(text, sheet, 30, 300)  # a fifth more than in English


@pytest.mark.parametrize("language", OTHERS)
def test_several_media_are_told_in_each_language(language, client):
    for request in requests():
        if request["path"] == "/v1/comparisons":
            response = client.post(
                request["path"], json=request["body"], headers={"Accept-Language": language}
            )
            if response.status_code == 200:
                with telling(language):
                    assert not BROKEN.search(as_markdown(sections(response.json)))


@pytest.mark.parametrize(
    ("language", "figure", "limit"),
    [("de", "2600 µS/cm", "bis 1300"), ("fr", "2\u202f600 µS/cm", ""), ("es", "2600 µS/cm", "")],
)
def test_figures_have_the_marks_of_their_language(language, figure, limit, post):
    medium = {"extraction": "SME", "ec": "2600 µS/cm", "ph": 5.4}
    request = {"medium": medium, "crops": [{"crop": "lettuce", "stage": "seedling"}]}
    answer = post("/v1/assessments", request | {"language": language})
    assert answer["salinity"]["ec_25c"]["value"] == 2.6
    assert answer["salinity"]["class"].islower()
    with telling(language):
        rows = short(answer, request).results
    assert rows[0].found == figure
    assert rows[0].range.startswith(limit)


def test_the_request_decides_then_the_client_then_english(client):
    def asked(said, **body):
        request = {"medium": {"ec": 3}} | body
        response = client.post("/v1/assessments", json=request, headers={"Accept-Language": said})
        return response.headers["Content-Language"]

    assert asked("pt") == "en"
    assert asked("") == "en"
    assert asked("nl, it;q=0.5") == "en"
    for language in OTHERS:
        assert asked(f"{language}-XX, en;q=0.5") == language
        assert asked("en", language=language) == language
        assert asked(language, language="en") == "en"


@pytest.mark.parametrize("language", OTHERS)
def test_a_fault_is_told_in_the_language_of_the_request(language, client):
    request = {"medium": {"ec": "much"}, "crops": "bean", "foo": 1, "language": language}
    problem = client.post("/v1/assessments", json=request)
    assert problem.status_code == 422
    assert problem.headers["Content-Language"] == language
    english = client.post("/v1/assessments", json=request | {"language": "en"}).json
    for own, theirs in zip(problem.json["errors"], english["errors"], strict=True):
        assert own["pointer"] == theirs["pointer"]
        assert own["detail"] != theirs["detail"]


def test_french_keeps_its_space_before_a_colon(client, demo_request):
    request = demo_request | {"language": "fr"}
    joined = re.compile(r".{20}(?<![\u00a0\u202f\d\s])[:;?!](?=\s)")
    page = client.post("/", data=typed_of(request) | {"language": "fr"}).text
    in_page = re.sub(r"<[^>]+>", "\n", page.partition('class="sources"')[0])
    assert joined.findall(html.unescape(in_page)) == []
    trial = client.post("/trial", data=TYPED | {"language": "fr"}).text
    in_trial = re.sub(r"<[^>]+>", "\n", trial.partition('id="again"')[0])
    assert 'class="todo"' in trial
    assert joined.findall(html.unescape(in_trial)) == []
    asked = {"json": request, "headers": {"Accept": "text/plain"}}
    assert joined.findall(client.post("/v1/assessments", **asked).text) == []
    with telling("fr"):
        in_full = full(client.post("/v1/assessments?sources=none", json=request).json)
    assert joined.findall(in_full) == []


@pytest.mark.parametrize("language", ["de", "fr", "es"])
def test_a_fault_tells_its_bounds_in_the_marks_of_the_language(client, language):
    request = {"medium": {"ec": "zzz"}, "containers": [{"volume": "zzz"}], "language": language}
    faults = client.post("/v1/assessments", json=request).json["errors"]
    told = " ".join(each["accepted"] for each in faults)
    assert "0,00001" in told
    assert "100000 L" in told
    assert not re.search(r"e[+-]?\d|\d\.\d|[{}]", told)
