"""Keys, rates, origins, and the headers of every answer."""

import hashlib

import pytest
from click.testing import CliRunner

from saltcalc.cli import main
from saltcalc.service.app import create_app
from saltcalc.service.config import read_settings
from saltcalc.service.keys import make_key


def served(**settings):
    named = {f"SALTCALC_{name.upper()}": str(value) for name, value in settings.items()}
    return create_app(read_settings(named)).test_client()


@pytest.fixture
def key_file(tmp_path):
    return tmp_path / "keys"


def bearer(key):
    return {"Authorization": f"Bearer {key}"}


def test_without_keys_anybody_is_let_in(client):
    assert client.get("/v1/observations").status_code == 200


def test_with_keys_only_who_has_one_is_let_in(key_file, capsys):
    key, line = make_key("tunnel-pc")
    key_file.write_text(f"# of the tunnel\n{line}\n")
    client = served(keys=key_file)
    for headers, said in [({}, "asks for a key"), (bearer("x" * 43), "not known")]:
        refused = client.get("/v1/observations", headers=headers)
        assert refused.status_code == 401
        assert refused.headers["WWW-Authenticate"].startswith("Bearer")
        assert said in refused.json["detail"]
    assert client.get("/v1/observations", headers=bearer(key)).status_code == 200
    assert client.get("/healthz").status_code == client.get("/readyz").status_code == 200
    assert client.get("/metrics").status_code == 401
    logged = capsys.readouterr().out
    assert '"key": "tunnel-pc"' in logged
    assert key not in logged


def test_keys_change_without_a_restart(key_file):
    first, line = make_key("a")
    key_file.write_text(line + "\n")
    client = served(keys=key_file)
    second, other = make_key("b")
    assert client.get("/v1/observations", headers=bearer(second)).status_code == 401
    key_file.write_text(f"{other}\n# a is gone\n")
    assert client.get("/v1/observations", headers=bearer(second)).status_code == 200
    assert client.get("/v1/observations", headers=bearer(first)).status_code == 401
    key_file.write_text("spoilt")
    assert client.get("/v1/observations", headers=bearer(second)).status_code == 200


@pytest.mark.parametrize("text", ["a", f"a {'0' * 63}", f"a b {'0' * 64}", f"a {'0' * 64}\n" * 2])
def test_a_file_that_is_not_of_keys_is_refused_at_start(key_file, text):
    key_file.write_text(text)
    with pytest.raises(ValueError, match=r"SALTCALC_KEYS: .*line"):
        read_settings({"SALTCALC_KEYS": str(key_file)})


def test_the_command_makes_a_key_and_its_line():
    result = CliRunner().invoke(main, ["key", "tunnel-pc"])
    line, key = result.stdout.strip(), result.stderr.strip()
    assert line == f"tunnel-pc {hashlib.sha256(key.encode()).hexdigest()}"
    assert CliRunner().invoke(main, ["key", "two words"]).exit_code == 1


def test_a_client_that_asks_too_often_is_told_when_to_come_again():
    client = served(rate_limit="3 per minute")
    statuses = [client.get("/v1/observations").status_code for _ in range(5)]
    assert statuses == [200] * 3 + [429] * 2
    refused = client.get("/v1/observations")
    assert refused.mimetype == "application/problem+json"
    assert 0 < int(refused.headers["Retry-After"]) <= 60
    assert all(client.get("/healthz").status_code == 200 for _ in range(10))


def test_a_page_of_another_origin_may_ask_only_where_it_is_allowed(client):
    origin = {"Origin": "https://farm.example"}
    asked = origin | {
        "Access-Control-Request-Method": "POST",
        "Access-Control-Request-Headers": "content-type",
    }
    allowed = served(cors_origins="https://farm.example, http://192.0.2.7:8080")
    name = "Access-Control-Allow-Origin"
    assert name not in client.get("/v1/observations", headers=origin).headers
    assert allowed.get("/v1/observations", headers=origin).headers[name] == origin["Origin"]
    before = allowed.options("/v1/assessments", headers=asked)
    assert (before.status_code, before.headers[name]) == (200, origin["Origin"])
    other = allowed.get("/v1/observations", headers={"Origin": "https://else.example"})
    assert name not in other.headers


@pytest.mark.parametrize("path", ["/healthz", "/v1/crops", "/nothing", "/openapi.json"])
def test_every_answer_keeps_a_browser_safe(client, path):
    headers = client.get(path).headers
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Content-Security-Policy"].startswith("default-src 'none'")


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        ({"SALTCALC_WORKER": "3"}, "SALTCALC_WORKERS"),
        ({"SALTCALC_TIMEOUT": "5"}, "SALTCALC_TIMEOUT_SECONDS"),
        ({"SALTCALC_CORS_ORIGINS": "*"}, "not an origin"),
        ({"SALTCALC_CORS_ORIGINS": "farm.example"}, "not an origin"),
        ({"SALTCALC_RATE_LIMIT": "often"}, "not a rate"),
        ({"SALTCALC_KEYS": "/no/such/file"}, "cannot be read"),
    ],
)
def test_a_setting_that_means_nothing_stops_the_start(settings, said):
    with pytest.raises(ValueError, match=said):
        read_settings(settings)


def test_an_answer_that_takes_too_long_is_given_up(demo_request):
    app = create_app(read_settings({}))
    app.config["TIMEOUT_SECONDS"] = -1
    response = app.test_client().post("/v1/assessments", json=demo_request)
    assert response.status_code == 503
    assert response.headers["Retry-After"] == "5"
    assert response.mimetype == "application/problem+json"
    app.config["TIMEOUT_SECONDS"] = 30
    assert app.test_client().post("/v1/assessments", json=demo_request).status_code == 200


def test_a_browser_gives_its_key_as_a_password(key_file):
    key, line = make_key("bench")
    key_file.write_text(line + "\n")
    client = served(keys=key_file)
    browser = {"Accept": "text/html,application/xhtml+xml,*/*;q=0.8"}
    asked = client.get("/", headers=browser)
    assert asked.status_code == 401
    ways = asked.headers.getlist("WWW-Authenticate")
    assert [each.split()[0].lower() for each in ways] == ["bearer", "basic"]
    assert "the key as the password" in asked.text
    with client.get("/pages/page.css") as style:
        assert style.status_code == 200
    for path in ("/", "/trial", "/flush-log"):
        assert client.get(path, headers=browser, auth=("", key)).status_code == 200
        assert client.get(path, headers=browser, auth=("", "x" * 43)).status_code == 401
    program = client.get("/v1/observations")
    assert len(program.headers.getlist("WWW-Authenticate")) == 1
