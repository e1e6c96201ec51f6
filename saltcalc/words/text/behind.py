"""Which sources stand behind the short words."""

from __future__ import annotations

from collections.abc import Iterator

from saltcalc.words.rendering import Json


def behind(answer: Json) -> list[str]:
    """Return the keys of the sources of what the short words tell.

    Those of the reading, the limits of crops, the plan to flush, the ranges that a figure lies
    outside of, and the causes that are supported.

    Parameters
    ----------
    answer : dict
        As the service gives it, with all its parts.
    """
    return sorted(set(_keys(answer)), key=list(answer["sources"]).index)


def _keys(answer: Json) -> Iterator[str]:
    crops, plans = answer["crops"] or [], answer["flush_plan"] or []
    outside = [
        each
        for each in (answer["nutrients"] or {}).get("elements", [])
        if each.get("status") in ("low", "high")
    ]
    found = [each for each in answer["causes"]["ranked"] if each["verdict"] == "supported"]
    evidence = [one for each in found for one in each.get("evidence_for", [])]
    salinity = [answer["salinity"]] if answer["salinity"] else []
    for part in (*salinity, *crops, *plans, *outside, *found, *evidence):
        yield from part.get("sources", [])
