"""The form: what is typed becomes the request that would be posted, and nothing is lost."""

import html
import json
import re

import pytest

from saltcalc.data.crop_lookup import find
from saltcalc.data.crops import catalogue
from saltcalc.data.observations import observations
from saltcalc.service.example import DEMO_REQUEST
from saltcalc.service.pages.form import all_entries, entries, request_of, typed_of
from saltcalc.words.catalogue import languages, words

FIRST = {
    "/medium/extraction": "one_to_two",
    "/medium/ec": "1,8",
    "/medium/ec@unit": "mS/cm",
    "/crops/0/crop": "Kopfsalat",
    "/crops/0/stage": "seedling",
    "/containers/0/volume": "11",
    "/containers/0/volume@unit": "L",
    "/containers/0/drainage": "open",
}


def told(page):
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", page)))


@pytest.fixture
def send(client):
    def post(typed, status=200):
        response = client.post("/", data=typed)
        assert response.status_code == status
        assert response.mimetype == "text/html"
        return response.text

    return post


def test_the_answer_of_the_page_is_that_of_the_interface(send, post, demo_request):
    answer = post("/v1/assessments?passes=all&flush=advised", demo_request)
    page = told(send(typed_of(demo_request)))
    summary = answer["summary"]
    said = [summary["leading_cause"], summary["salt"], summary["worst_crop"], *summary["actions"]]
    said += answer["upkeep"] + summary["cautions"] + answer["warnings"]
    sentences = [each["sentence"] for each in said]
    for plan in answer["flush_plan"]:
        sentences += plan.get("step_by_step", [plan["sentence"]])
    for sentence in sentences:
        assert re.sub(r"\s+", " ", sentence) in page
    for row in answer["nutrients"]["elements"]:
        assert row["name"] in page
    for source in answer["sources"].values():
        assert re.sub(r"\s+", " ", source["citation"]) in page


def test_five_answers_are_enough(send):
    page = send(FIRST)
    assert "<h1>" in page
    assert page.count("<svg") >= 3


def test_the_form_and_the_request_are_one_the_inverse_of_the_other():
    demo = json.loads(DEMO_REQUEST.read_text(encoding="utf-8"))
    request, _ = request_of(typed_of(demo))
    assert json.loads(json.dumps(request)) == {
        **demo,
        "medium": {
            **demo["medium"],
            "ph": "6.4",
            "ions": {name: str(value) for name, value in demo["medium"]["ions"].items()}
            | {"chloride": f"{demo['medium']['ions']['chloride']} Cl"},
        },
        "water": {
            **demo["water"],
            "ph": "7.6",
            "ions": {name: str(value) for name, value in demo["water"]["ions"].items()},
        },
        "containers": [
            {**each, "count": str(each["count"])} for each in demo["containers"]
        ],
    }  # fmt: skip


@pytest.mark.parametrize(
    ("answers", "method"),
    [
        ({"how": "drained"}, "pour_through"),
        ({"how": "pressed"}, "press"),
        ({"how": "sensor"}, "pore_water_sensor"),
        ({"how": "mixed", "parts": "glistens"}, "saturated_media_extract"),
        ({"how": "mixed", "parts": "glistens_soil"}, "saturated_paste"),
        ({"how": "mixed", "parts": "1.5", "by": "volume"}, "one_to_one_and_half"),
        ({"how": "mixed", "parts": "2", "by": "volume"}, "one_to_two"),
        ({"how": "mixed", "parts": "5"}, "one_to_five"),
        ({"how": "mixed", "parts": "5", "by": "weight"}, "1:5 w/w"),
        ({"how": "mixed"}, None),
        ({}, None),
    ],
)
def test_three_questions_settle_the_method(answers, method):
    request, _ = request_of({name: [value] for name, value in answers.items()})
    assert request["medium"].get("extraction") == method


def test_a_method_that_is_named_counts_for_more_than_the_questions():
    request, _ = request_of({"/medium/extraction": ["press"], "how": ["drained"]})
    assert request["medium"]["extraction"] == "press"


@pytest.mark.parametrize(
    ("text", "unit", "sent"),
    [
        ("1,8", "mS/cm", "1,8 mS/cm"),
        ("< 0.5", "mg/L", "< 0.5 mg/L"),
        ("1.6-2.0", "mS/cm", "1.6-2.0 mS/cm"),
        ("1800 µS/cm", "mS/cm", "1800 µS/cm"),
        ("100 mg/L SO4", "mmol/L", "100 mg/L SO4"),
        ("n.d.", "mg/L", "n.d."),
        ("900", "ppm500", "900 ppm500"),
    ],
)
def test_the_unit_beside_a_figure_counts_where_none_is_typed(text, unit, sent):
    request, _ = request_of({"/medium/ec": [text], "/medium/ec@unit": [unit]})
    assert request["medium"]["ec"] == sent


def test_a_fault_stands_beside_its_field_and_nothing_typed_is_lost(send):
    typed = {
        **FIRST,
        "/medium/ec": "<script>alert(1)</script>",
        "/crops/2/crop": "beetroot",
        "/crops/2/stage": "ancient",
        "/containers/1/volume": "big",
        "/medium/ions/sodium": "much",
        "/evapotranspiration": "wet",
        "/observations": ["white_crust_when_dry", "nonsense"],
        "/sampled_on": "yesterday",
    }
    page = send(typed, 422)
    for name in ("/medium/ec", "/crops/2/stage", "/containers/1/volume", "/medium/ions/sodium"):
        entry = next(each for each in all_entries() if each.name == name)
        assert f'id="{entry.id}-fault1"' in page, name
    assert "<script>" not in page
    values = html.unescape(page)
    for value in ("<script>alert(1)</script>", "beetroot", "big", "much", "wet", "yesterday"):
        assert f'value="{value}"' in values
    assert 'value="ancient" selected' in page
    assert 'value="white_crust_when_dry" checked' in page
    assert "nonsense" in page


@pytest.mark.parametrize("name", ["/crops/0/stage", "/medium/substrate", "/crops/1/stage"])
def test_no_fault_on_a_page_speaks_of_calls_of_the_interface(send, name):
    page = send({"/medium/ec": "1.8", name: "zzz"}, 422)
    assert 'class="fault"' in page
    assert "GET /v1" not in page


def test_garbage_in_every_field_is_refused_and_escaped(client):
    garbage = '"><svg onload=alert(1)>'
    for entry in all_entries():
        page = client.post("/", data={"/medium/ec": "1.8", entry.name: garbage})
        assert page.status_code in (200, 422), entry.name
        assert "<svg onload" not in page.text, entry.name


def test_everything_typed_stands_in_the_form_of_the_answer(send):
    page = html.unescape(send({**FIRST, "/medium/ions/boron": "< 0,05"}))
    for value in ("1,8", "Kopfsalat", "11", "< 0,05"):
        assert f'value="{value}"' in page


def test_what_was_taken_for_granted_can_be_told(send):
    before, after = send(FIRST), send({**FIRST, "/evapotranspiration": "2"})
    assert 'name="/evapotranspiration" placeholder="4 mm/day"' in before
    assert 'name="/evapotranspiration" placeholder' not in after
    assert 'name="/evapotranspiration" value="2"' in after
    assert told(before) != told(after)


def test_every_sign_has_its_box_once():
    boxes = [value for part in entries().values() for entry in part if entry.several
             for value, _ in entry.choices]  # fmt: skip
    assert sorted(boxes) == sorted(observations())


def test_pages_let_in_no_script_and_no_frame(client):
    for response in (client.get("/"), client.get("/example"), client.post("/", data=FIRST)):
        policy = response.headers["Content-Security-Policy"]
        assert "script" not in policy.replace("default-src 'none'", "")
        assert "unsafe" not in policy
        assert "default-src 'none'" in policy
        assert "frame-ancestors 'none'" in policy
        assert not re.search(r"<script| style=| on[a-z]+=|https?://(?!www\.w3\.org)", response.text)


def test_the_form_cannot_be_sent_from_another_site(client):
    for site, status in (("same-origin", 200), ("none", 200), ("cross-site", 403),
                         ("same-site", 403)):  # fmt: skip
        response = client.post("/", data=FIRST, headers={"Sec-Fetch-Site": site})
        assert response.status_code == status
    assert "Set-Cookie" not in client.post("/", data=FIRST).headers


def test_a_page_is_small(send, client, demo_request):
    assert len(client.get("/").data) < 50_000
    assert len(send(typed_of(demo_request)).encode()) < 150_000


def test_head_is_answered(client):
    for path in ("/", "/example"):
        assert client.head(path).status_code == 200


@pytest.mark.parametrize(
    ("accept", "kind"),
    [
        ("application/json", "application/json"),
        ("*/*", "application/json"),
        ("text/plain", "text/plain"),
        ("text/markdown", "text/markdown"),
        ("application/pdf", "application/pdf"),
        ("text/html", "text/html"),
        ("text/html,application/xhtml+xml,*/*;q=0.8", "text/html"),
        ("application/json, text/html;q=0.5", "application/json"),
    ],
)
def test_the_interface_answers_as_asked(client, demo_request, accept, kind):
    response = client.post("/v1/assessments", json=demo_request, headers={"Accept": accept})
    assert response.status_code == 200
    assert response.mimetype == kind
    assert "Accept" in response.headers["Vary"]
    if kind == "text/html":
        assert response.text.count("<svg") >= 5
        assert "style-src 'self'" in response.headers["Content-Security-Policy"]
    if kind == "application/pdf":
        assert response.data.startswith(b"%PDF-")
        assert b"/Count 2" in response.data
    if kind == "text/plain":
        assert "To be sure" in response.text


def test_a_form_that_there_is_not_is_refused(client, demo_request):
    response = client.post("/v1/assessments", json=demo_request, headers={"Accept": "image/png"})
    assert response.status_code == 406
    assert "application/pdf" in response.json["detail"]


@pytest.mark.parametrize(
    ("accept", "kind"),
    [
        ("*/*", "application/problem+json"),
        ("application/json", "application/problem+json"),
        ("application/pdf", "application/problem+json"),
        ("text/html,*/*;q=0.8", "text/html"),
        ("text/plain", "text/plain"),
        ("text/markdown", "text/plain"),
    ],
)
def test_faults_follow_what_was_asked_for(client, accept, kind):
    faulty = {"medium": {"ec": "<b>salty</b>"}}
    response = client.post("/v1/assessments", json=faulty, headers={"Accept": accept})
    assert response.status_code == 422
    assert response.mimetype == kind
    assert "Accept" in response.headers["Vary"]
    assert "/medium/ec" in response.text
    if kind == "text/html":
        assert "<b>salty" not in response.text


REPORT = """Method: 1:2 v/v
EC\t1,45\tmS/cm
pH\t6,1
Nitrate\t45\tmg/l
NO3-N\t38\tmg/l
"""


def test_a_pasted_report_fills_the_fields_and_lists_the_rest(send):
    page = send({"report": REPORT, "/medium/ph": "5.9"})
    assert 'name="/medium/ec" value="1,45"' in page
    assert 'value="one_to_two" selected' in page
    assert 'name="/medium/ions/nitrate_n" value="38"' in page
    assert "<option selected>mg/L N</option>" in page
    assert 'name="/medium/ph" value="5.9"' in page
    assert "N / NO3" in told(page)
    assert "filled in already" in told(page)
    assert "Nitrate\t45\tmg/l" in html.unescape(page)


def test_a_report_that_was_read_does_not_stand_in_the_way_of_the_answer(send):
    page = send({"report": REPORT})
    mark = re.search(r'name="report@read" value="(\w+)"', page)[1]
    typed = {"report": REPORT, "report@read": mark, "/medium/ec": "1.45 mS/cm"}
    assert 'class="lead"' in send({**typed, "/medium/extraction": "1:2"})


def test_a_report_without_a_method_asks_for_it(send):
    page = told(send({"report": "EC 1.45 mS/cm"}))
    assert "does not say how the water was taken out" in page


def test_a_report_is_escaped(send):
    assert "<script>" not in send({"report": "<script>alert(1)</script> EC 1.45 mS/cm"})


@pytest.mark.parametrize(
    ("path", "typed"),
    [
        ("/", {f"/crops/{'9' * 5000}/crop": "bean"}),
        ("/", {"/a" * 3000: "1"}),
        ("/flush-log", {"/medium/ec": "2", f"/readings/{'9' * 5000}/at": "x"}),
        ("/flush-log", {"/medium/ec": "2", "container": "9" * 5000}),
        ("/flush-log", {"/medium/ec": "2", "/containers/a/volume": "2"}),
        ("/flush-log", {"/medium/ec": "2", "/readings/0/applied": "2", "/containers/0": "x"}),
        ("/flush-log", {"/medium/ec": "2", "/readings/\u0663/at": "x"}),
        ("/trial", {f"/media/{'9' * 5000}/name": "x", "/media/0/name": "y"}),
        ("/trial", {"/media": "x"}),
        ("/trial", {"/media/a/medium": "x"}),
    ],
)
def test_names_that_no_form_has_are_refused(client, path, typed):
    assert client.post(path, data=typed).status_code == 422


def test_the_pictures_show_causes_weeks_and_the_check(send, demo_request):
    page = told(send(typed_of(demo_request)))
    assert "What speaks for each cause" in page
    assert re.search(r"for it 1 × decisive.*against it", page)
    assert re.search(r"after the flush: .* in week 12\. Not flushed: .* in week 12\.", page)
    assert re.search(r"done when a pour-through after 12 h reads [\d.]+ dS/m or less", page)


def test_the_flush_that_is_drawn_is_the_one_that_is_advised(send, post, demo_request):
    answer = post("/v1/assessments", demo_request)
    page = send(typed_of(demo_request))
    lasting = answer["upkeep"][0]["extended_flush"]
    litres = f"{lasting['water_per_container']['value']:.2g} L"
    assert f"Pour {litres} on each container" in answer_part(page, "The flush")
    assert f"It takes {lasting['passes']} passes" in told(page)
    assert f'<th scope="row">{lasting["passes"]}</th>' in page
    assert f'<th scope="row">{lasting["passes"] + 1}</th>' not in page
    pores, limit = (lasting["target_pore_water"], answer["flush_plan"][0]["target_pore_water"])
    said = f"the goal is {pores['value']:.2g} dS/m, the limit {limit['value']:.2g} dS/m"
    assert said in told(page)
    week = re.search(r"after the flush: ([\d.]+) dS/m in week 0", told(page))
    assert float(week[1]) == pytest.approx(pores["value"], rel=0.05)


def answer_part(page, heading):
    return told(page.partition(f"<h2>{heading}</h2>")[2])


def test_a_picture_that_would_say_nothing_is_left_out(send):
    page = told(send({"/medium/ec": "0.3", "/medium/extraction": "one_to_two"}))
    assert "What speaks for each cause" not in page
    assert "Not flushed" not in page


def test_what_was_taken_for_granted_is_asked_in_words(send, demo_request):
    page = send(typed_of(demo_request))
    granted = page[page.index("What was taken for granted") : page.index("What you told")]
    assert not re.search(r">[^<]*/(medium|water|containers)\b", granted)
    assert re.search(r'<select[^>]*name="/medium/salt_profile"', granted)
    assert re.search(r'<select[^>]*name="/medium/wetting_agent"', granted)
    sink = re.search(r'<input[^>]*name="/medium/sink_time"[^>]*>.*', granted).group()
    assert "placeholder" not in sink
    assert "<option>s</option>" in sink


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("/medium/salt_profile", "even"),
        ("/medium/wetting_agent", "used"),
        ("/medium/sink_time", "40"),
        ("/water/temperature", "18"),
        ("/confidence", "0.9"),
    ],
)
def test_what_is_changed_of_it_is_reckoned_with_and_stays(send, demo_request, name, value):
    typed = {**typed_of(demo_request), name: value, "/medium/sink_time@unit": "s"}
    page = send(typed)
    assert 'class="lead"' in page
    assert re.search(rf'name="{name}"(?: value="{value}"|>.*?value="{value}" selected)', page)


@pytest.mark.parametrize("language", languages())
def test_the_example_is_told_in_the_language_of_the_reader(client, language):
    page = html.unescape(client.get(f"/example?language={language}").text)
    bean = {"en": "Bean", "de": "Bohne", "fr": "Haricot", "es": "Judía"}[language]
    tub = {"en": "holes", "de": "Löchern", "fr": "percé", "es": "agujeros"}[language]
    assert re.search(rf'name="/crops/0/crop" value="{bean}"', page)
    assert re.search(rf'name="/containers/0/name" value="[^"]*{tub}"', page)


@pytest.mark.parametrize("language", languages())
def test_every_crop_that_is_offered_is_the_crop_that_is_meant(client, language):
    page = client.get(f"/?language={language}").text
    offered = re.findall(r'<option value="([^"]+)">', page.partition("<datalist")[2])
    crops = catalogue().crops
    assert len(offered) > 150
    for name in map(html.unescape, offered):
        found = find(name, language).crop
        assert words(language).say(crops[found].name) == name


@pytest.mark.parametrize(("typed", "kind"), [("", "date"), ("2025-04-02", "date"), ("soon", "")])
def test_a_day_is_asked_for_by_the_calendar_and_what_is_none_is_kept(client, typed, kind):
    page = client.post("/form", data={"/sampled_on": typed}).text
    field = re.search(r'<input[^>]*name="/sampled_on"[^>]*>', page).group()
    assert f'value="{typed}"' in field
    assert ('type="date"' in field) == bool(kind)


@pytest.mark.parametrize(("tank", "said"), [("2", "Catch the drainage apart"), ("", None)])
def test_a_tank_that_the_drainage_runs_back_to(send, tank, said):
    page = told(send(FIRST | {"/return_tank": tank, "/return_tank@unit": "L"}))
    assert ("running back" in page) is bool(said)
    assert said is None or said in page
