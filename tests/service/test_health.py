import json
import re
from functools import cache

from saltcalc import __version__
from saltcalc.data import minerals
from saltcalc.data.tables import TableError
from saltcalc.service import health


def test_the_process_lives_and_is_ready(client):
    assert client.get("/healthz").json == {"status": "ok", "version": __version__}
    ready = {"status": "ready", "version": __version__, "engines": {"phreeqc": "ready"}}
    assert client.get("/readyz").json == ready


def test_not_ready_where_a_published_figure_comes_out_wrong(client, monkeypatch):
    monkeypatch.setattr(health, "sar", lambda *_: 1.0)
    response = client.get("/readyz")
    assert response.status_code == 503
    assert "SAR" in response.json["fault"]


def test_not_ready_where_any_table_cannot_be_trusted(client, monkeypatch):
    @cache
    def evaporites():
        raise TableError("evaporites.csv, line 2: wrong number of cells")

    monkeypatch.setattr(minerals, "evaporites", evaporites)
    response = client.get("/readyz")
    assert response.status_code == 503
    assert "evaporites.csv, line 2" in response.json["fault"]


def test_requests_are_counted(client):
    client.get("/v1/nothing")
    text = client.get("/metrics").get_data(as_text=True)
    assert re.search(r'saltcalc_requests_total\{method="GET",route="none",status="404"\} \d', text)
    assert "saltcalc_request_seconds_bucket" in text


def test_one_json_line_a_request_without_its_payload(client, demo_request, capsys):
    client.post("/v1/assessments", json=demo_request, headers={"X-Request-ID": "tub-7"})
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == 1
    record = json.loads(lines[0])
    assert record["request_id"] == "tub-7"
    assert record["route"] == "/v1/assessments"
    assert record["status"] == 200
    assert record["milliseconds"] > 0
    assert "coir" not in lines[0]


def test_a_request_id_is_taken_or_made(client):
    given = client.get("/healthz", headers={"X-Request-ID": "a-1"}).headers["X-Request-ID"]
    unfit = client.get("/healthz", headers={"X-Request-ID": 'a"b c'}).headers["X-Request-ID"]
    made = client.get("/healthz").headers["X-Request-ID"]
    assert given == "a-1"
    assert re.fullmatch(r"[0-9a-f]{32}", unfit)
    assert re.fullmatch(r"[0-9a-f]{32}", made)
