"""CPU time of flush plans and of a flush under way, in-process, against what they may take."""

from __future__ import annotations

import json
import math
import time
from collections.abc import Callable
from statistics import median
from typing import Any

from benchmarks.endpoints import README, _demo
from saltcalc.service.app import create_app
from saltcalc.service.catalogues import assessment_of
from saltcalc.service.config import read_settings
from saltcalc.service.schemas.requests import AssessmentRequestSchema

PLAN: dict[str, Any] = {
    "medium": {"extraction": "saturated_media_extract", "ec": 4.5, "substrate": "sphagnum_peat"},
    "water": {"ec": 0.4},
    "containers": [{"volume": 10, "height": 20, "drainage": "open"}],
    "target_ec": 2.0,
}
COMPOST = PLAN | {
    "medium": {
        "extraction": "saturated_media_extract",
        "ec": 6.0,
        "substrate": "green_waste_compost",
    },
    "target_ec": 3.0,
    "means": {"by": "dripper"},
}
READINGS = [{"applied": 1.25, "ec_drainage": ec} for ec in (4.4, 4.2, 3.9, 3.4, 2.9, 2.5, 2.1, 1.8)]


def _tubs(count: int, like: bool = False, **more: Any) -> list[dict[str, Any]]:
    return [{"volume": 10 if like else 10 + 0.1 * k, "height": 20} | more for k in range(count)]


ASKED: dict[str, tuple[str, Callable[[float], dict[str, Any]], float]] = {
    "a plan": ("/v1/flush-plans", lambda f: _with(PLAN, f), 8),
    "the README's request": ("/v1/assessments", lambda f: _with(README, f, 1.4), 12),
    "the demo": ("/v1/assessments", _demo, 30),
    "100 unlike containers": (
        "/v1/flush-plans",
        lambda f: _with(PLAN | {"containers": _tubs(100)}, f),
        80,
    ),
    "100 like containers": (
        "/v1/flush-plans",
        lambda f: _with(PLAN | {"containers": _tubs(100, like=True)}, f),
        80,
    ),
    "100 composts of 100 passes": (
        "/v1/flush-plans",
        lambda f: _with(COMPOST | {"containers": _tubs(100, head_space="4 mm")}, f, 6.0),
        250,
    ),
    "progress, 8 readings": (
        "/v1/flush-plans/progress",
        lambda f: _with(PLAN | {"readings": READINGS}, f),
        60,
    ),
}


def _with(request: dict[str, Any], factor: float, ec: float = 4.5) -> dict[str, Any]:
    made: dict[str, Any] = json.loads(json.dumps(request))
    made["medium"]["ec"] = ec * factor
    return made


def main() -> None:
    """Print the times."""
    client = create_app(read_settings({"SALTCALC_LOG_LEVEL": "CRITICAL"})).test_client()
    print(f"{'':28}{'CPU ms':>8}{'at most':>9}{'ratio':>7}{'passes':>8}")
    for name, (path, request, most) in ASKED.items():
        answer = client.post(path, json=request(1.0)).json
        plans = answer.get("flush_plan") or [{}]
        times = []
        for step in range(1, 10):
            asked = request(1 + step / 100)
            began = time.process_time()
            client.post(path, json=asked)
            times.append(1000 * (time.process_time() - began))
        ours = median(times)
        print(f"{name:28}{ours:8.1f}{most:9.0f}{ours / most:7.2f}{plans[0].get('passes', 0):8}")
    with client.application.test_request_context():
        ours = median(_upkeep(1 + step / 100) for step in range(1, 10))
    print(f"{'upkeep after the plan':28}{ours:8.1f}{8:9.0f}{ours / 8:7.2f}")


def _upkeep(factor: float) -> float:
    """Return the CPU time [ms] of the arrays of upkeep, once those of the plan are there."""
    request = AssessmentRequestSchema().load(_with(README, factor, 1.4))
    assessment = assessment_of(request)
    _ = assessment.flush_plan, assessment.watering, assessment.leaching
    began = time.process_time()
    _ = assessment.upkeep
    return 1000 * (time.process_time() - began)


def _seconds(work: Callable[[], object], times: int) -> float:
    work()
    best = math.inf
    for _ in range(times):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return best


if __name__ == "__main__":
    main()
