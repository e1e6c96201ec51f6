"""In a language made of brackets, whatever stands outside them is not from a catalogue."""

import html
import re

import pytest

from saltcalc.service.pages.form import typed_of
from saltcalc.words.reader import telling
from saltcalc.words.text import as_markdown, as_text, full, short
from saltcalc.words.trial_text import as_markdown as trial_as_markdown
from saltcalc.words.trial_text import sections
from tests.golden.record import requests
from tests.languages.pseudo import CLOSE, OPEN, PSEUDO

OURS = {"Accept-Language": PSEUDO}
BRACKETED = re.compile(f"{OPEN}[^{OPEN}{CLOSE}]*{CLOSE}")
ENGLISH = re.compile(r"[A-Za-z]{2,}(?:[,;:]?\s+[A-Za-z'’]+){2,}")
NO_SENTENCE = {
    "citation", "title", "authors", "url", "source", "sources", "equation", "rests_on", "name",
    "names", "common_names", "botanical", "synonyms", "crop", "container", "value", "accepted",
    "sample_id", "field", "missing", "trace", "plants", "variety",
}  # fmt: skip
"""Members that hold names, codes, titles of publications, or what was asked."""


def outside(text):
    """Return what of a text does not stand in brackets."""
    while BRACKETED.search(text):
        text = BRACKETED.sub(" ¤ ", text)
    return text


def leaks(node, path=""):
    if isinstance(node, dict):
        for name, member in node.items():
            names = isinstance(member, list) and all(isinstance(each, str) for each in member)
            if name not in NO_SENTENCE and not (name == "crops" and names):
                yield from leaks(member, f"{path}/{name}")
    elif isinstance(node, list):
        for place, member in enumerate(node):
            yield from leaks(member, f"{path}/{place}")
    elif isinstance(node, str) and ENGLISH.search(outside(node)):
        yield f"{path}: {node}"


def _answers(client, wanted):
    for request in requests():
        if wanted(request):
            response = client.open(
                request["path"], method=request["method"], json=request["body"], headers=OURS
            )
            yield request, response


def test_every_sentence_of_an_answer_comes_from_the_catalogues(pseudo):
    found, asked = [], 0
    for request, response in _answers(pseudo, lambda each: True):
        asked += 1
        assert response.headers["Content-Language"] == PSEUDO
        assert "Accept-Language" in response.headers["Vary"]
        found += [f"{request['path']}{each}" for each in leaks(response.json)]
    assert asked >= 200
    assert not found


def _left_of(text, request):
    """Return what of an answer in words is neither in brackets nor was asked."""
    body = request["body"]
    owners = [*body.get("containers", []), *body.get("media", [])]
    for name in (each["name"] for each in owners if "name" in each):
        text = text.replace(name, "¤").replace(name[:1].lower() + name[1:], "¤")
    return ENGLISH.findall(outside(" ".join(text.split())))


def _as_text(answer):
    return as_text(short(answer))


def _as_markdown(answer):
    return as_markdown(short(answer))


def _trial_as_markdown(answer):
    return trial_as_markdown(sections(answer))


@pytest.mark.parametrize(
    ("path", "render"),
    [
        ("/v1/assessments", full),
        ("/v1/assessments", _as_text),
        ("/v1/assessments", _as_markdown),
        ("/v1/comparisons", _trial_as_markdown),
    ],
)
def test_every_answer_in_words_comes_from_the_catalogues(path, render, pseudo):
    found, asked = [], 0
    for request, response in _answers(pseudo, lambda each: each["path"] == path):
        if response.status_code == 200:
            asked += 1
            with telling(PSEUDO):
                found += _left_of(render(response.json), request)
    assert asked
    assert not found


def test_every_page_comes_from_the_catalogues(pseudo, demo_request):
    typed = typed_of(demo_request)
    faulty = {"/medium/ec": "zz", "/sampled_on": "zz"}
    pages = {path: pseudo.get(path, headers=OURS) for path in ("/", "/trial", "/flush-log")}
    pages["answer"] = pseudo.post("/", data=typed, headers=OURS)
    pages["log"] = pseudo.post("/flush-log", data={**typed, "container": "0"}, headers=OURS)
    pages["faults"] = pseudo.post("/", data=faulty, headers=OURS)
    given = {each for texts in typed.values() for each in texts}
    for name, response in pages.items():
        assert response.status_code == (422 if name == "faults" else 200), name
        page = re.sub(r"<datalist.*?</datalist>", "", response.text, flags=re.DOTALL)
        page, _, _ = page.partition('class="sources"')
        lines = html.unescape(re.sub(r"<[^>]+>", "\n", page)).splitlines()
        assert OPEN in page
        left = [each for each in map(outside, lines) if each.strip(" .·¤") not in given]
        assert not [each for each in left if ENGLISH.search(each)], name
