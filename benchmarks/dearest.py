"""The search for the dearest request that is accepted: CPU seconds and megabytes of each endpoint.

Requests are made of the fields that an endpoint reads: ends of ranges and points between them,
ranges in words, lists of one and of the most members. What is refused is sent again without the
fields at fault. Hypothesis goes on from those that cost the most. Pages and sheets are hunted as
the JSON is, as ``/v1/assessments text/html``. Run
``python -m benchmarks.dearest CASES [TARGET ...]``; the dearest found are written to a file, and
``tests/service/test_dearest.py`` sends them again.
"""

from __future__ import annotations

import gzip
import json
import math
import sys
import time
import warnings
from collections.abc import Iterator
from functools import cache, partial
from pathlib import Path
from typing import Any

import marshmallow as ma
from flask.testing import FlaskClient
from hypothesis import HealthCheck, Phase, given, seed, settings, target
from hypothesis import strategies as st

from saltcalc.data.crops import catalogue
from saltcalc.data.substrates import substrates
from saltcalc.service.app import create_app
from saltcalc.service.config import read_settings
from saltcalc.service.fields import Choice, Count, Number, Quantity, TableId
from saltcalc.service.resources.assessments import BY_NUMBER

KEPT = Path(__file__).parents[1] / "tests" / "service" / "dearest_requests.jsonl.gz"
MOST_SECONDS, MOST_MEGABYTES = 2.0, 200.0
ATTEMPTS = 12
"""Times that a request is sent again without what was refused of it."""
MEMBERS = 3
"""Members of a list that are chosen; the rest of a long list is these with other figures."""

JSON = "application/json"
_AS_PAGES = ("/v1/assessments", "/v1/comparisons")
"""Whose answers come as pages and sheets too."""

Json = Any
_GONE = object()

_MEDIUM = {"extraction": "one_to_two", "ec": 3}
PLAIN = {
    "medium": _MEDIUM,
    "water": {"ec": 0.5},
    "crops": [{"crop": "lettuce"}],
    "containers": [{"volume": "20 L", "height": "30 cm", "drainage": "open"}],
    "media": [{"medium": _MEDIUM}, {"medium": _MEDIUM | {"ec": 5}}],
    "readings": [{"applied": 2 + place / 100, "ec_drainage": 5} for place in range(100)],
    "pots": [{"applied": 2 + place / 1000, "collected": 0.4} for place in range(1000)],
}
"""What stands in the place of a member that has to be there and of which nothing is left."""


def served() -> FlaskClient:
    """Return a client of the service as it is set up by itself."""
    return create_app(read_settings({"SALTCALC_LOG_LEVEL": "CRITICAL"})).test_client()


def endpoints(client: FlaskClient) -> dict[str, tuple[ma.Schema, str]]:
    """Return what each endpoint reads that takes JSON, and the query that asks for the most."""
    found = {}
    for rule in client.application.url_map.iter_rules():
        view = getattr(client.application.view_functions[rule.endpoint], "view_class", None)
        about = getattr(getattr(view, "post", None), "_apidoc", {})
        read = {
            each["in"]: each["schema"] for each in about.get("arguments", {}).get("parameters", ())
        }
        if "json" in read:
            found[rule.rule] = (_made(read["json"]), _all_of(_made(read["query"])))
    return found


def targets(client: FlaskClient) -> dict[str, tuple[str, str]]:
    """Return what is hunted by its name: a path, and the media type that it is asked for in."""
    found = {}
    for path in endpoints(client):
        found[path] = path, JSON
        if path in _AS_PAGES:
            found |= {f"{path} {form}": (path, form) for form in BY_NUMBER}
    return found


def name_of(kept: Json) -> str:
    """Return the name of the target that a kept request is of."""
    path, form = kept["path"].partition("?")[0], kept.get("accept", JSON)
    return path if form == JSON else f"{path} {form}"


def post(client: FlaskClient, path: str, request: Json, form: str = JSON) -> Any:
    """Return the answer to a request in a media type."""
    return client.post(path, json=request, headers={"Accept": form})


def _made(schema: Any) -> ma.Schema:
    made: ma.Schema = schema() if isinstance(schema, type) else schema
    return made


def _all_of(query: ma.Schema) -> str:
    """Return the query string by which an answer shows all it has."""
    wanted = {name: "all" for name in ("causes", "passes") if name in query.fields}
    if "parts" in query.fields:
        parts = query.fields["parts"].inner.choices  # type: ignore[attr-defined]
        wanted["parts"] = ",".join(parts[-20:])
    return "&".join(f"{name}={value}" for name, value in wanted.items())


@cache
def values(field: Any) -> st.SearchStrategy[Json]:
    """Return what a field takes, its ends first."""
    match field:
        case Quantity(kind=kind):
            low, high = kind.bounds
            least = low or (kind.least and float(kind._in_unit(kind.least))) or high / 1e6
            points = _points(low, least, high) if kind.unit != "°C" else [low, 5, 20, 45, high]
            figures = st.sampled_from(points)
            ranges = st.sampled_from([f"{points[2]}-{points[4]} {kind.unit}", f"<{points[3]}"])
            return figures | figures | ranges
        case Number() | Count():
            limits = next(v for v in field.validators if isinstance(v, ma.validate.Range))
            least = limits.min or (1 if isinstance(field, Count) else limits.max / 1e4)
            points = _points(limits.min, least, limits.max)
            return st.sampled_from([int(x) for x in points] if isinstance(field, Count) else points)
        case Choice():
            return st.sampled_from(field.choices)
        case TableId():
            ids = list(catalogue().crops) if "crop" in field.listing else list(substrates())
            names = [*ids, *(["zzz qqq " * 20, "sal ad tomat"] if "crop" in field.listing else [])]
            return st.sampled_from(names)
        case ma.fields.NaiveDateTime():
            return st.sampled_from(["2026-03-01T08:30:00", "2026-03-02T09:00:00"])
        case ma.fields.Date():
            return st.sampled_from(["1900-01-01", "2026-05-01"])
        case ma.fields.Nested():
            return members(field.schema)
        case ma.fields.List():
            length = next(v for v in field.validators if isinstance(v, ma.validate.Length))
            few = length.min or 1
            sizes = st.sampled_from([few, max(few, length.max // 5), length.max, length.max])
            return st.builds(
                _lengthened, st.lists(values(field.inner), min_size=1, max_size=MEMBERS), sizes
            )
        case _:
            return st.sampled_from(["a", "name"])


def _points(low: float, least: float, high: float) -> list[float]:
    """Return the ends of a range, and points between them that are alike as ratios."""
    least, high = 1.03 * least, high / 1.03  # so that those beside them are in the range too
    steps = [least * (high / least) ** (step / 8) for step in range(9)] if least > 0 else [high]
    return [float(f"{each:.6g}") for each in (low, *steps)]


@cache
def members(schema: ma.Schema) -> st.SearchStrategy[Json]:
    """Return objects of a schema: all that has to be there, and any or nearly all of the rest."""
    needed = {name: values(each) for name, each in schema.fields.items() if each.required}
    others = {name: values(each) for name, each in schema.fields.items() if not each.required}
    return st.fixed_dictionaries(needed, optional=others) | st.fixed_dictionaries(needed | others)


def _lengthened(chosen: list[Json], size: int) -> list[Json]:
    return [_like(chosen[place % len(chosen)], place) for place in range(size)]


def _like(member: Json, place: int) -> Json:
    """Return a member of a list, with a name of its own and figures that none before it had."""
    if isinstance(member, dict):
        named = {"name": f"name {place}"} if "name" in member else {}
        return {name: _like(each, place) for name, each in member.items()} | named
    if isinstance(member, float) and place:
        return float(f"{member * (1 + place / 50_000):.8g}")
    if isinstance(member, str) and place >= MEMBERS:
        crops = list(catalogue().crops)
        return crops[(crops.index(member) + place) % len(crops)] if member in crops else member
    return member


def cost(send: Any) -> tuple[Any, float, float]:
    """Return what a call returns, its CPU time [s] and the memory it took at most [MB]."""
    Path("/proc/self/clear_refs").write_text("5", encoding="ascii")  # forget the highest so far
    before, began = _memory("VmRSS"), time.process_time()
    returned = send()
    return returned, time.process_time() - began, max(0.0, _memory("VmHWM") - before)


def _memory(which: str) -> float:
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return int(status.split(f"{which}:")[1].split()[0]) / 1024


def tried(
    client: FlaskClient, path: str, query: str, form: str, request: Json
) -> Iterator[tuple[Any, ...]]:
    """Send a request until it is taken, each time without what was refused.

    Yields
    ------
    tuple
        What was sent, the answer, CPU seconds and megabytes.
    """
    for _ in range(ATTEMPTS):
        response, seconds, megabytes = cost(partial(post, client, f"{path}?{query}", request, form))
        yield request, response, seconds, megabytes
        if response.status_code == 413:
            request = _halved(request)
        elif response.status_code == 422:
            # A page of a problem tells no pointers, as its JSON does.
            problem = response.json or post(client, f"{path}?{query}", request).json
            pointers = [each["pointer"].split("/")[1:] for each in problem["errors"]]
            for steps in pointers:
                left = _without(request, steps) if steps[:1] and steps[0] in request else request
                request = {} if left is _GONE else left
            needed = {steps[0] for steps in pointers if steps} & PLAIN.keys() - request.keys()
            request = request | {name: PLAIN[name] for name in needed}
        else:
            return


def _halved(node: Json) -> Json:
    """Return a request with lists half as long."""
    if isinstance(node, dict):
        return {name: _halved(each) for name, each in node.items()}
    return (
        [_halved(each) for each in node[: (len(node) + 1) // 2]] if isinstance(node, list) else node
    )


def _without(node: Json, steps: list[str]) -> Json:
    """Return a request without what a JSON pointer leads to, in no member of a list.

    A list gets half as long; where nothing stands any more, what it was to stand in goes.
    """
    if not steps:
        return node[: len(node) // 2] if isinstance(node, list) and len(node) > 1 else _GONE
    first, *rest = steps
    if isinstance(node, list) and first.isdecimal():
        if not rest:
            return [each for place, each in enumerate(node) if place != int(first)] or _GONE
        kept = [each for each in (_without(each, rest) for each in node) if each is not _GONE]
        return kept or _GONE
    if not isinstance(node, dict) or first not in node:
        return _GONE if not isinstance(node, dict) or not rest else node
    below = _without(node[first], rest)
    others = {name: each for name, each in node.items() if name != first}
    return others if below is _GONE else others | {first: below}


def search(client: FlaskClient, path: str, form: str, cases: int) -> dict[str, Any]:
    """Search one target; return its dearest request by time and by memory, and what broke."""
    schema, query = endpoints(client)[path]
    found: dict[str, Any] = {"taken": 0, "broken": []}
    highest = {"seconds": 0.0, "megabytes": 0.0}

    def note(sent: Json, response: Any, seconds: float, megabytes: float) -> None:
        for name, value in (("seconds", seconds), ("megabytes", megabytes)):
            kind = name if response.status_code == 200 else f"{name} of a refusal"
            if value > highest.get(kind, 0.0):
                highest[kind] = value
                found[kind] = {
                    "path": f"{path}?{query}",
                    "request": sent,
                    kind: round(value, 3),
                    **({} if form == JSON else {"accept": form}),
                }
        if response.status_code >= 500:
            found["broken"].append({"path": path, "request": sent, "status": response.status_code})

    for known in dearest():  # what was found before, or by hand, is the one to exceed
        if name_of(known) == name_of({"path": path, "accept": form}):
            sent = known["request"]
            note(sent, *cost(partial(post, client, f"{path}?{query}", sent, form)))

    @seed(20)
    @settings(
        max_examples=cases,
        phases=(Phase.generate, Phase.target),
        database=None,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(members(schema))
    def hunt(request: Json) -> None:
        response = None
        for sent, response, seconds, megabytes in tried(client, path, query, form, request):
            note(sent, response, seconds, megabytes)
        found["taken"] += response is not None and response.status_code == 200
        target(math.log10(1e-6 + seconds), label="seconds")
        target(megabytes, label="megabytes")

    hunt()
    return found | {"highest": highest}


def dearest() -> list[Json]:
    """Return the dearest requests that earlier searches found."""
    if not KEPT.exists():
        return []
    return [json.loads(line) for line in gzip.decompress(KEPT.read_bytes()).splitlines()]


def hunt_all(cases: int = 300, *names: str) -> int:
    """Search all targets or those named, print and keep what is dearest; return 1 if too dear."""
    warnings.simplefilter("error")  # of numpy, where a figure comes out of nothing
    client = served()
    client.application.config.update(PROPAGATE_EXCEPTIONS=False, TIMEOUT_SECONDS=3600)
    kept: list[Json] = []
    too_dear = False
    known = targets(client)
    for name in names or known:
        began = time.monotonic()
        found = search(client, *known[name], cases)
        told = "  ".join(f"{name} {value:.2f}" for name, value in found["highest"].items())
        print(
            f"{name:34}{found['taken']:5} taken  {told}  ({time.monotonic() - began:.0f} s)",
            flush=True,
        )
        for each in found["broken"][:3]:
            print("BROKEN", json.dumps(each)[:2000])
        kept += [found[kind] for kind in dict.fromkeys(("seconds", "megabytes")) if kind in found]
        kept += found["broken"][:3]
        too_dear |= bool(found["broken"])
        too_dear |= found["highest"]["seconds"] > MOST_SECONDS
        too_dear |= found["highest"]["megabytes"] > MOST_MEGABYTES
    searched = {*map(name_of, kept)}
    kept += [each for each in dearest() if name_of(each) not in searched]
    text = "".join(json.dumps(each) + "\n" for each in sorted(kept, key=name_of))
    KEPT.write_bytes(gzip.compress(text.encode(), mtime=0))
    return int(too_dear)


if __name__ == "__main__":
    sys.exit(hunt_all(*map(int, sys.argv[1:2]), *sys.argv[2:]))
