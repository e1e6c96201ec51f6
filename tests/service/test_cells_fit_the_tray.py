"""Cells of a tray have to fit on it: what does not is the volume of the whole tray."""

import pytest

TRAY = {"by": "boom", "cells_per_tray": 288, "tray_length": "54 cm", "tray_width": "28 cm"}
MEDIUM = {"extraction": "press", "ec": 4.5}


def request(container, means=TRAY):
    return {"medium": MEDIUM, "means": means, "containers": [container]}


@pytest.mark.parametrize("path", ["/v1/assessments", "/v1/flush-plans"])
@pytest.mark.parametrize(
    ("container", "most"),
    [({"volume": "1.6 L", "height": "3 cm"}, "0.016 L"), ({"volume": "1.6 L"}, "0.21 L")],
)
def test_the_volume_of_the_whole_tray_is_not_taken_for_a_cell(client, path, container, most):
    reply = client.post(path, json=request(container))
    assert reply.status_code == 422
    [fault] = reply.json["errors"]
    assert fault["pointer"] == "/containers/0/volume"
    assert fault["value"] == "1.6 L"
    assert most in fault["detail"]


def test_the_media_of_a_comparison_are_held_to_it_too(client):
    cell = [{"volume": "1.6 L", "height": "3 cm"}]
    media = [{"medium": MEDIUM}, {"medium": MEDIUM, "containers": cell}]
    shared = [{"volume": "5.5 mL", "height": "3 cm"}]
    body = {"media": media, "means": TRAY, "containers": shared}
    reply = client.post("/v1/comparisons", json=body)
    assert reply.status_code == 422
    assert [each["pointer"] for each in reply.json["errors"]] == ["/media/1/containers/0/volume"]


@pytest.mark.parametrize(
    "means",
    [
        pytest.param(TRAY, id="as a tray has them"),
        pytest.param({"by": "boom", "cells_per_tray": 288}, id="size of the tray not told"),
    ],
)
def test_cells_that_fit_are_taken(client, means):
    reply = client.post(
        "/v1/flush-plans", json=request({"volume": "5.5 mL", "height": "3 cm"}, means)
    )
    assert reply.status_code == 200


def test_a_tray_beside_tubs_that_a_hose_waters_is_no_tray_of_tubs(client):
    reply = client.post("/v1/flush-plans", json=request({"volume": "10 L"}, TRAY | {"by": "hose"}))
    assert reply.status_code == 200
