"""What would break a program written for an earlier OpenAPI document of the service.

What is sent may become wider, what is answered may gain: a member, a media type or an id that was
taken has to be taken still, and a member that was always there has to be there still.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

Json = dict[str, Any]

AT_LEAST = ("minimum", "minLength", "minItems", "exclusiveMinimum")
AT_MOST = ("maximum", "maxLength", "maxItems", "exclusiveMaximum")


def breaking(before: Json, now: Json) -> list[str]:
    """Return each change that breaks a client of the earlier document, by its place."""
    return sorted(set(_Compared(before, now).all()))


class _Compared:
    """Two documents, and which pairs of their schemas were looked at."""

    def __init__(self, before: Json, now: Json) -> None:
        self.documents = before, now
        self.seen: set[tuple[str, str, bool]] = set()

    def all(self) -> Iterator[str]:
        before, now = self.documents
        for path, operations in before["paths"].items():
            for method, operation in operations.items():
                if method == "parameters":
                    continue
                place = f"{method.upper()} {path}"
                if method not in now["paths"].get(path, {}):
                    yield f"{place} is gone"
                else:
                    yield from self._operation(place, operation, now["paths"][path][method])

    def _operation(self, place: str, before: Json, now: Json) -> Iterator[str]:
        old, new = (
            {(each["in"], each["name"]): each for each in map(self._whole, side, document)}
            for side, document in (
                (before.get("parameters", ()), [0] * 99),
                (now.get("parameters", ()), [1] * 99),
            )
        )
        for key in old.keys() - new.keys():
            yield f"{place}: parameter {key[1]} is gone"
        for key, parameter in new.items():
            if key not in old and parameter.get("required"):
                yield f"{place}: parameter {key[1]} is asked for"
            elif key in old:
                name = f"{place}?{key[1]}"
                yield from self._schema(name, old[key]["schema"], parameter["schema"], sent=True)
        old, new = (side.get("requestBody", {}) for side in (before, now))
        if new.get("required") and not old.get("required"):
            yield f"{place}: a body is asked for"
        yield from self._content(f"{place} body", old, new, sent=True)
        for status, answer in before["responses"].items():
            if status not in now["responses"]:
                yield f"{place}: answer {status} is gone"
                continue
            answers = self._whole(answer, 0), self._whole(now["responses"][status], 1)
            yield from self._content(f"{place} {status}", *answers, sent=False)

    def _content(self, place: str, before: Json, now: Json, *, sent: bool) -> Iterator[str]:
        for media, described in before.get("content", {}).items():
            if media not in now.get("content", {}):
                yield f"{place}: {media} is gone"
            elif "schema" in described:
                schemas = described["schema"], now["content"][media].get("schema", {})
                yield from self._schema(place, *schemas, sent=sent)

    def _whole(self, node: Json, which: int) -> Json:
        """Follow a reference in the earlier (0) or the later document (1)."""
        while "$ref" in node:
            found: Any = self.documents[which]
            for step in node["$ref"].removeprefix("#/").split("/"):
                found = found[step]
            node = found
        return node

    def _schema(self, place: str, old: Json, new: Json, *, sent: bool) -> Iterator[str]:
        if "$ref" in old and "$ref" in new:
            pair = old["$ref"], new["$ref"], sent
            if pair in self.seen:
                return
            self.seen.add(pair)
        old, new = self._whole(old, 0), self._whole(new, 1)
        wider, narrower = (new, old) if sent else (old, new)
        yield from self._values(place, wider, narrower)
        yield from self._members(place, old, new, sent=sent)
        if "items" in old and "items" in new:
            yield from self._schema(f"{place}[]", old["items"], new["items"], sent=sent)
        for how in ("anyOf", "oneOf"):
            if how in narrower:
                yield from self._forms(place, wider, narrower, how, sent=sent)

    def _values(self, place: str, wider: Json, narrower: Json) -> Iterator[str]:
        """Tell what the narrower side may hold and the wider does not take."""
        if "enum" in wider:
            for value in narrower.get("enum", ["any value"]):
                if value not in wider["enum"]:
                    yield f"{place}: {value!r} is not among what is known"
        types, allowed = _types(narrower), _types(wider)
        if allowed and not (types and types <= allowed):
            yield f"{place}: {', '.join(sorted(types - allowed)) or 'any type'} does not fit"
        for bounds, fits in ((AT_LEAST, float.__ge__), (AT_MOST, float.__le__)):
            for name in bounds:
                if name not in wider:
                    continue
                if name not in narrower or not fits(float(narrower[name]), float(wider[name])):
                    yield f"{place}: {name} is tighter"
        if "pattern" in wider and wider["pattern"] != narrower.get("pattern"):
            yield f"{place}: another pattern"

    def _members(self, place: str, old: Json, new: Json, *, sent: bool) -> Iterator[str]:
        before, now = old.get("properties", {}), new.get("properties", {})
        for name in before.keys() - now.keys():
            yield f"{place}/{name} is gone"
        for name in before.keys() & now.keys():
            yield from self._schema(f"{place}/{name}", before[name], now[name], sent=sent)
        needed, needs = set(old.get("required", ())), set(new.get("required", ()))
        for name in needs - needed if sent else needed - needs:
            yield f"{place}/{name} is {'asked for' if sent else 'not always there'}"
        refused = [side.get("additionalProperties", True) is False for side in (old, new)]
        if sent and "properties" in old and refused == [False, True]:
            yield f"{place}: other members are refused"

    def _forms(
        self, place: str, wider: Json, narrower: Json, how: str, *, sent: bool
    ) -> Iterator[str]:
        """Want each form of the narrower side to fit one of the wider side."""
        for form in narrower[how]:
            tried = []
            for other in wider.get(how, [wider]):
                kept = set(self.seen)
                pair = (form, other) if sent else (other, form)
                tried.append(list(self._schema(place, *pair, sent=sent)))
                if not tried[-1]:
                    break
                self.seen = kept
            else:
                yield from min(tried, key=len)


def _types(schema: Json) -> set[str]:
    """Return the types that a schema names; a number may be a whole one."""
    named: Any = schema.get("type", ())
    types = {named} if isinstance(named, str) else set(named)
    return types | {"integer"} if "number" in types else types


def may_break(earlier: str, now: str) -> bool:
    """Whether a version may break what an earlier one promised, as CHANGELOG.md says."""
    old, new = (tuple(map(int, version.split(".")))[:2] for version in (earlier, now))
    return new[0] > old[0] or (old[0] == 0 and new > old)
