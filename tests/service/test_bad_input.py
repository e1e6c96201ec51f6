"""Every bad request gets a problem document that names the field, the value and what fits."""

import json

import pytest

from saltcalc.service import logs

MEDIUM = {"extraction": "one_to_two", "ec": 1.2}
CONTAINER = {"volume": 10, "drainage": "open"}


def with_medium(**changes):
    return {"medium": MEDIUM | changes}


def with_container(**changes):
    return {"medium": MEDIUM, "containers": [CONTAINER | changes]}


CASES = {
    "unknown field": ({"medium": MEDIUM, "colour": "white"}, "/colour", "The fields are"),
    "unknown field, near": (with_medium(extracton="one_to_two"), "/medium/extracton", "extraction"),
    "unknown extraction": (with_medium(extraction="teabag"), "/medium/extraction", "pour_through"),
    "extraction of a wrong type": (with_medium(extraction=[]), "/medium/extraction", "one of"),
    "negative EC": (with_medium(ec=-1), "/medium/ec", "dS/m"),
    "NaN as text": (with_medium(ec="NaN"), "/medium/ec", "dS/m"),
    "infinity as text": (with_medium(ec="Infinity"), "/medium/ec", "dS/m"),
    "EC of 1000": (with_medium(ec=1000), "/medium/ec", "dS/m"),
    "EC as true": (with_medium(ec=True), "/medium/ec", "dS/m"),
    "EC as a list": (with_medium(ec=[1]), "/medium/ec", "dS/m"),
    "EC in litres": (with_medium(ec="2 L"), "/medium/ec", "mS/cm"),
    "EC in nothing known": (with_medium(ec="2 blips"), "/medium/ec", "mS/cm"),
    "EC with an open comma": (with_medium(ec="2,300 µS/cm"), "/medium/ec", "mS/cm"),
    "EC without a value": (with_medium(ec={"unit": "dS/m"}), "/medium/ec", "'value'"),
    "EC of 400 digits": (with_medium(ec=10**400), "/medium/ec", "dS/m"),
    "EC of a huge exponent": (with_medium(ec="1e999 dS/m"), "/medium/ec", "dS/m"),
    "neither EC nor ions": ({"medium": {}}, "/medium/ec", "dS/m"),
    "nothing to go by": ({}, "/medium/ec", "2300 µS/cm"),
    "medium as text": ({"medium": "peat"}, "/medium/ec", "begin with a number"),
    "pH of 15": (with_medium(ph=15), "/medium/ph", "from 0 to 14"),
    "pH as text": (with_medium(ph="seven"), "/medium/ph", "from 0 to 14"),
    "pH of 400 digits": (with_medium(ph=10**400), "/medium/ph", "from 0 to 14"),
    "pH with a unit": (with_medium(ph="6.5 mg/L"), "/medium/ph", "from 0 to 14"),
    "pH in percent": (with_medium(ph="60 %"), "/medium/ph", "without a unit"),
    "capacity of a length": (
        with_medium(container_capacity="5 cm"),
        "/medium/container_capacity",
        "'60 %'",
    ),
    "capacity of 55": (with_medium(container_capacity=55), "/medium/container_capacity", "0.05"),
    "count of litres": (with_container(count="12 L"), "/containers/0/count", "whole number"),
    "half a container as text": (with_container(count="1.5"), "/containers/0/count", "whole"),
    "symbol of an ion": (
        with_medium(ions={"na": 3}),
        "/medium/ions/na",
        "did you mean 'sodium'",
    ),
    "symbol of nitrate": (
        with_medium(ions={"NO3-N": 3}),
        "/medium/ions/NO3-N",
        "did you mean 'nitrate_n'",
    ),
    "singular": ({"medium": MEDIUM, "crop": []}, "/crop", "did you mean 'crops'"),
    "large letter": (with_medium(Ec=3), "/medium/Ec", "did you mean 'ec'"),
    "words joined": (with_medium(slowRelease=3), "/medium/slowRelease", "'slow_release'"),
    "unknown ion": (with_medium(ions={"sodum": 3}), "/medium/ions/sodum", "sodium"),
    "negative ion": (with_medium(ions={"sodium": -3}), "/medium/ions/sodium", "mg/L"),
    "ion by mass of soil": (
        with_medium(ions={"sodium": "3 mg/kg"}),
        "/medium/ions/sodium",
        "meq/L",
    ),
    "boron by charge": (with_medium(ions={"boron": "1 meq/L"}), "/medium/ions/boron", "mg/L"),
    "unknown substrate": (with_medium(substrate="peet"), "/medium/substrate", "/v1/substrates"),
    "capacity above porosity": (
        with_medium(container_capacity=0.8, total_porosity=0.5),
        "/medium/container_capacity",
        "from 0.05",
    ),
    "temperature of 300": (with_medium(temperature=300), "/medium/temperature", "°C"),
    "zero volume": (with_container(volume=0), "/containers/0/volume", "from 0.001"),
    "no volume": (
        {"medium": MEDIUM, "containers": [{"drainage": "open"}]},
        "/containers/0/volume",
        "L",
    ),
    "volume in dS/m": (with_container(volume="10 dS/m"), "/containers/0/volume", "US gal"),
    "height of a tower": (with_container(height="900 cm"), "/containers/0/height", "cm"),
    "height four orders off": (with_container(height=250_000), "/containers/0/height", "cm"),
    "half a container": (with_container(count=1.5), "/containers/0/count", "whole number"),
    "no containers": (with_container(count=0), "/containers/0/count", "from 1"),
    "drainage half open": (with_container(drainage="half"), "/containers/0/drainage", "sealed"),
    "containers as a flag": ({"medium": MEDIUM, "containers": True}, "/containers", "a list"),
    "unknown crop": (
        {"medium": MEDIUM, "crops": [{"crop": "x" * 201}]},
        "/crops/0/crop",
        "/v1/crops",
    ),
    "unknown stage": (
        {"medium": MEDIUM, "crops": [{"crop": "lettuce", "stage": "ancient"}]},
        "/crops/0/stage",
        "seedling",
    ),
    "unknown sign": ({"medium": MEDIUM, "observations": ["sad"]}, "/observations/0", "white_crust"),
    "efficiency of nothing": (
        {"medium": MEDIUM, "leaching_efficiency": 0},
        "/leaching_efficiency",
        "from 0.05",
    ),
    "a list for a request": ([], "", "medium"),
    "text for a request": ("EC 2", "", "medium"),
}


@pytest.mark.parametrize("case", CASES)
def test_a_bad_field_is_named_with_what_it_accepts(case, refuse):
    request, pointer, accepted = CASES[case]
    problem = refuse("/v1/assessments", request)
    fault = next(each for each in problem["errors"] if each["pointer"] == pointer)
    assert fault["detail"]
    assert accepted in fault["accepted"] + fault["detail"]


def test_all_faults_are_told_at_once_with_their_values(refuse):
    request = with_container(volume=-1) | {"colour": 1, "crops": [{"crop": "endive"}]}
    request["medium"] = MEDIUM | {"ec": "2 L"}
    problem = refuse("/v1/assessments", request)
    values = {fault["pointer"]: fault["value"] for fault in problem["errors"]}
    assert values == {
        "/medium/ec": "2 L",
        "/containers/0/volume": "-1",
        "/colour": "1",
        "/crops/0/crop": "endive",
    }


def test_a_name_of_several_crops_is_answered_with_all_of_them(refuse):
    problem = refuse("/v1/assessments", {"medium": MEDIUM, "crops": [{"crop": "Allium cepa"}]})
    detail = (
        "'Allium cepa' may mean Onion (bulb), Onion (seed crop) or Shallot. "
        "Write the one that you mean."
    )
    assert problem["errors"][0]["detail"] == detail


def test_an_ec_of_a_thousand_is_answered_with_the_likely_slip(refuse):
    problem = refuse("/v1/assessments", with_medium(ec=1000))
    assert "1000 µS/cm is 1 dS/m" in problem["errors"][0]["detail"]


@pytest.mark.parametrize("token", ["NaN", "Infinity", "-Infinity", "1e999"])
@pytest.mark.parametrize("field", ["ec", "ph"])
def test_a_number_that_is_none_is_named_as_a_token_too(token, field, refuse):
    body = f'{{"medium": {{"ec": 2, "{field}": {token}}}}}'.replace('"ec": 2, "ec"', '"ec"')
    problem = refuse("/v1/assessments", None, data=body, content_type="application/json")
    assert problem["errors"][0]["pointer"] == f"/medium/{field}"


@pytest.mark.parametrize(
    "path",
    [
        "/v1/crops",
        "/v1/crops/bean",
        "/v1/stage-limits",
        "/v1/substrates",
        "/v1/extraction-methods",
        "/v1/observations",
        "/v1/sources",
    ],
)
def test_an_unknown_query_parameter_is_named(path, client):
    response = client.get(path, query_string={"foo": "1"})
    assert response.status_code == 422
    (fault,) = response.json["errors"]
    assert (fault["pointer"], fault["value"]) == ("/foo", "1")
    assert fault["accepted"]


def test_a_query_beside_a_body_is_refused(client):
    response = client.post("/v1/assessments?dry=1", json={"medium": MEDIUM})
    assert response.status_code == 422
    assert response.json["errors"][0]["pointer"] == "/dry"


BODIES = {
    "empty": (b"", 400),
    "blank": (b"  \n", 400),
    "not JSON": (b"EC=2", 400),
    "cut short": (b'{"medium": {"ec": 2', 400),
    "not UTF-8": (b'{"medium": "\xff"}', 400),
    "half a surrogate pair": (b'{"medium": {"ec": 2}, "containers": [{"name": "\\ud800"}]}', 400),
    "half a surrogate pair for a name": (b'{"\\udc00": 1}', 400),
    "half a surrogate pair not escaped": (b'{"sample_id": "\xed\xa0\x80", "medium": 2}', 400),
    "a member twice": (b'{"medium": {"ec": 2, "ec": 3}}', 400),
    "nested deeply": (b"[" * 45_000 + b"]" * 45_000, 400),
    "nested at some depth": (b'{"medium":' * 60 + b"1" + b"}" * 60, 400),
    "a number of 5000 digits": (b'{"medium": {"ec": ' + b"1" * 5000 + b"}}", 400),
    "3 MB": (b'{"medium": "' + b"x" * 3_000_000 + b'"}', 413),
}


@pytest.mark.parametrize("case", BODIES)
def test_a_bad_body_is_refused(case, refuse):
    body, status = BODIES[case]
    problem = refuse("/v1/assessments", None, status, data=body, content_type="application/json")
    assert problem["detail"]


def test_another_media_type_is_refused(refuse):
    problem = refuse("/v1/assessments", None, 415, data=json.dumps({"medium": MEDIUM}))
    assert "application/json" in problem["detail"]


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("get", "/v1/assessments", 405),
        ("get", "/v1/nothing", 404),
        ("post", "/v1/crops", 405),
        ("get", "/docs/nothing.js", 404),
        ("delete", "/healthz", 405),
    ],
)
def test_other_http_errors_are_problem_documents_too(client, method, path, status):
    response = getattr(client, method)(path)
    assert response.status_code == status
    assert response.mimetype == "application/problem+json"
    assert response.json["status"] == status
    assert response.json["request_id"] == response.headers["X-Request-ID"]


def test_an_unforeseen_fault_is_a_problem_document_without_its_details(app, monkeypatch, capsys):
    def fall_over(*_, **__):
        raise RuntimeError("secret")

    monkeypatch.setattr("saltcalc.service.resources.assessments.with_ends", fall_over)
    monkeypatch.setitem(app.config, "PROPAGATE_EXCEPTIONS", False)
    logs.configure("INFO")  # another test may have set it for all
    response = app.test_client().post("/v1/assessments", json={"medium": MEDIUM})
    assert response.status_code == 500
    assert response.mimetype == "application/problem+json"
    assert "secret" not in response.get_data(as_text=True)
    assert "secret" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("query", "changed", "value"),
    [
        ("?parts=crops,nonsense", {}, "nonsense"),
        ("", {"observations": "white crust; flurb"}, "flurb"),
        ("", {"not_seen": "flurb"}, "flurb"),
        ("", {"medium": "banana"}, "banana"),
    ],
)
def test_one_of_several_in_a_text_is_told_alone(client, query, changed, value):
    body = {"medium": {"extraction": "SME", "ec": 1.8}} | changed
    answer = client.post(f"/v1/assessments{query}", json=body)
    assert answer.status_code == 422
    assert [each["value"] for each in answer.get_json()["errors"]] == [value]
