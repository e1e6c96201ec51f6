"""CPU time of each endpoint over that of a bare view with the same request and the same bytes.

A second call with other figures is timed, so that nothing kept from the first call flatters it.
Beside it stands how many functions of the project one request enters.
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from statistics import median
from types import FrameType
from typing import Any

import flask

import saltcalc
from saltcalc.cli import DEMO_REQUEST
from saltcalc.service.app import create_app
from saltcalc.service.config import read_settings

HOME = str(Path(saltcalc.__file__).parent)
STEPS = range(1, 16)

MEDIUM = {
    "extraction": "saturated_media_extract",
    "ions": {
        "sodium": 190, "potassium": 250, "calcium": 160, "magnesium": 80,
        "nitrate_n": 120, "sulfate_s": 90, "chloride": 240, "bicarbonate": 90,
    },
}  # fmt: skip
README = {
    "medium": {"extraction": "one_to_two", "ec": "1400 µS/cm"},
    "water": {"ec": 0.5},
    "containers": [{"volume": "3 US gal", "height": "9 inches", "drainage": "open"}],
    "crops": [{"crop": "lettuce", "stage": "seedling"}],
}


def _of_ec(ec: float) -> dict[str, Any]:
    return {"extraction": "one_to_two", "ec": ec, "to": "saturated_media_extract"}


def _demo(factor: float) -> dict[str, Any]:
    demo: dict[str, Any] = json.loads(DEMO_REQUEST.read_text(encoding="utf-8"))
    demo["medium"]["ec"] = 4.0 * factor
    return demo


ASKED: dict[str, tuple[str, Callable[[float], dict[str, Any]]]] = {
    "sodicity": (
        "/v1/sodicity",
        lambda f: {"medium": MEDIUM | {"ions": MEDIUM["ions"] | {"sodium": 190 * f}}},  # type: ignore[operator]
    ),
    "conductivity/convert": ("/v1/conductivity/convert", lambda f: _of_ec(1.3717 * f)),
    "leaching-requirement": (
        "/v1/leaching-requirement",
        lambda f: {"water": {"ec": 0.9 * f}, "crops": [{"crop": "lettuce"}]},
    ),
    "assessments, README": (
        "/v1/assessments",
        lambda f: README | {"medium": {"extraction": "one_to_two", "ec": 1.4 * f}},
    ),
    "assessments, demo": ("/v1/assessments", _demo),
}


def _cpu(call: Callable[[], Any]) -> float:
    began = time.process_time()
    call()
    return 1000 * (time.process_time() - began)


def _functions_entered(call: Callable[[], Any]) -> int:
    entered = set()

    def profile(frame: FrameType, event: str, _: Any) -> None:
        if event == "call" and frame.f_code.co_filename.startswith(HOME):
            entered.add((frame.f_code.co_filename, frame.f_code.co_firstlineno))

    sys.setprofile(profile)
    try:
        call()
    finally:
        sys.setprofile(None)
    return len(entered)


def _bare(answer: bytes) -> flask.Flask:
    """Make an application that parses the request and gives back bytes that are ready."""
    app = flask.Flask("bare")

    @app.post("/")
    def echo() -> flask.Response:
        flask.request.get_json()
        return flask.Response(answer, mimetype="application/json")

    return app


def _measure(name: str, path: str, request: Callable[[float], dict[str, Any]]) -> None:
    client = create_app(read_settings({"SALTCALC_LOG_LEVEL": "CRITICAL"})).test_client()
    first = client.post(path, json=request(1.0))
    bare = _bare(first.data).test_client()
    ours, floor = (
        median(_cpu(partial(each.post, place, json=request(1 + step / 100))) for step in STEPS)
        for each, place in ((client, path), (bare, "/"))
    )
    entered = _functions_entered(partial(client.post, path, json=request(1.005)))
    print(f"{name:24}{ours:8.1f}{floor:9.2f}{ours / floor:8.0f}{entered:11}{len(first.data):9}")


def main() -> None:
    """Print the figures of each endpoint."""
    print(f"{'':24}{'CPU ms':>8}{'bare ms':>9}{'ratio':>8}{'functions':>11}{'bytes':>9}")
    for name, (path, request) in ASKED.items():
        _measure(name, path, request)


if __name__ == "__main__":
    main()
