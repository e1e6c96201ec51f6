"""What answers keep to as a whole: one type a name, closed sets, one range, and their sizes."""

from collections import defaultdict

from tests.service.test_api_spec import COMMITTED

SCHEMAS = COMMITTED["components"]["schemas"]

SEVERAL_TYPES = {
    # Keys in every part; what they stand for once, at the end of an answer.
    "sources": {"list of string", "mapping"},
    # A figure's own, and what was assumed: a quantity, a number or an id, as its field takes.
    "value": {"number", "anything"},
}
"""Names that have more than one type, and why."""

TYPICALLY_CLOSED = {
    "basis", "class", "relation", "direction", "drainage", "group", "governing_limit", "id",
    "kind", "medium_class", "medium_kind", "method", "nutrient", "parameter", "provenance",
    "range_method", "rating", "rsc_class", "salt_type", "scheme", "severity", "sodicity_class",
    "soil_group", "stage", "status", "strength", "verdict", "verdict_range",
}  # fmt: skip

OPEN = {
    # As many as there are fields with a default, and named after them.
    ("Assumption", "id"), ("TellingAssumption", "id"),
    # Crops, those of the grower's own among them.
    ("CropListing", "id"), ("CropDetail", "id"),
    # Rows of a table that any release may lengthen.
    ("ConversionListing", "id"), ("SubstrateListing", "id"),
    # An ion, a form or an extraction, by the kind of the slip.
    ("Slip", "id"),
}  # fmt: skip


def references(node):
    """Yield the name of every schema that a part of the document refers to."""
    if isinstance(node, dict):
        if "$ref" in node:
            yield node["$ref"].rsplit("/", 1)[-1]
        for member in node.values():
            yield from references(member)
    elif isinstance(node, list):
        for member in node:
            yield from references(member)


def answers():
    """Return the schemas of every answer, and all that they hold."""
    found, waiting = {}, []
    for path in COMMITTED["paths"].values():
        for operation in path.values():
            if isinstance(operation, dict):
                waiting += references(operation.get("responses", {}).get("200", {}))
    while waiting:
        name = waiting.pop()
        if name in SCHEMAS and name not in found:
            found[name] = SCHEMAS[name]
            waiting += references(SCHEMAS[name])
    return found


def type_of(schema):
    """Return the type of a member as a reader of JSON meets it; null apart."""
    for choice in ("allOf", "anyOf", "oneOf"):
        if choice in schema:
            kinds = {type_of(each) for each in schema[choice] if each.get("type") != "null"}
            return " or ".join(sorted(kinds))
    if "$ref" in schema:
        name = schema["$ref"].rsplit("/", 1)[-1]
        return {"QuantityAnswer": "quantity", "AdjustedSar": "quantity", "Series": "series"}.get(
            name, "object"
        )
    kinds = schema.get("type", "anything")
    if isinstance(kinds, list):
        kinds = " or ".join(sorted(set(kinds) - {"null"}))
    if kinds == "array":
        return f"list of {type_of(schema['items'])}"
    return "mapping" if "additionalProperties" in schema else kinds


def test_a_name_has_one_type_in_every_answer():
    types = defaultdict(set)
    for schema in answers().values():
        for name, member in schema.get("properties", {}).items():
            types[name].add(type_of(member))
    assert len(types) > 200
    several = {name: found for name, found in types.items() if len(found) > 1}
    assert several == SEVERAL_TYPES


def test_what_is_chosen_from_a_closed_set_says_so():
    for schema_name, schema in answers().items():
        for name, member in schema.get("properties", {}).items():
            inner = member.get("items", member)
            if name not in TYPICALLY_CLOSED or (schema_name, name) in OPEN:
                continue
            if type_of(inner) == "string":
                assert "enum" in inner, (schema_name, name)


def test_the_exceptions_are_there():
    found = answers()
    for schema_name, name in OPEN:
        assert "enum" not in found[schema_name]["properties"][name]


def test_a_range_is_spelled_in_one_way():
    ranges = [
        name
        for name, schema in answers().items()
        if {"low", "high"} <= schema.get("properties", {}).keys()
    ]
    assert set(ranges) == {"QuantityAnswer", "AdjustedSar", "Range"}
    for schema in answers().values():
        for name in schema.get("properties", {}):
            assert not name.endswith(("_low", "_high", "_at_soonest", "_at_latest"))


README_REQUEST = {
    "medium": {"extraction": "one_to_two", "ec": "1400 µS/cm"},
    "water": {"ec": 0.5},
    "containers": [{"volume": "3 US gal", "height": "9 inches", "drainage": "open"}],
    "crops": [{"crop": "lettuce", "stage": "seedling"}],
}


def depths(node, depth=0):
    """Yield how many keys lead to each value; places in lists do not count."""
    if isinstance(node, dict):
        for member in node.values():
            yield from depths(member, depth + 1)
    elif isinstance(node, list):
        for member in node:
            yield from depths(member, depth)
    else:
        yield depth


def test_the_summary_is_small_and_flat(client):
    reply = client.post("/v1/assessments?parts=summary", json=README_REQUEST)
    assert reply.status_code == 200
    assert len(reply.data) <= 2_500
    assert max(depths(reply.json)) <= 4


def test_the_whole_answer_to_the_demo_is_lean(client, demo_request):
    reply = client.post("/v1/assessments?sources=none", json=demo_request)
    assert reply.status_code == 200
    assert "sources" not in reply.json
    assert len(reply.data) <= 45_000


def test_a_cause_has_all_its_evidence_where_that_is_asked_for(post, demo_request):
    short, whole = (
        post(path, demo_request)["causes"]
        for path in ("/v1/assessments", "/v1/assessments?causes=all")
    )
    first, same = short["ranked"][0], whole["ranked"][0]
    assert first["cause"] == same["cause"]
    assert len(first["evidence_for"]) == 3 < len(same["evidence_for"])
    assert first["evidence_for"] == same["evidence_for"][:3]
    assert "others" not in whole
    verdicts = {each["cause"]: each["verdict"] for each in short["ranked"]}
    verdicts |= {cause: verdict for verdict, rest in short["others"].items() for cause in rest}
    assert verdicts == {each["cause"]: each["verdict"] for each in whole["ranked"]}


def test_what_settles_a_possible_cause_is_told_once(post, demo_request):
    causes = post("/v1/assessments", demo_request)["causes"]
    told = [causes["next_check"]["id"], *(each["id"] for each in causes.get("other_checks", []))]
    assert len(told) == len(set(told))
    settled = [each for each in causes["ranked"] if "settled_by" in each]
    assert settled
    assert {each["settled_by"]["check"] for each in settled} <= set(told)
    assert {each["verdict"] for each in settled} == {"possible"}


def test_other_published_ranges_stand_where_they_say_other(post, demo_request):
    elements = post("/v1/assessments", demo_request)["nutrients"]["elements"]
    others = [(each, other) for each in elements for other in each.get("other_ranges", [])]
    assert others
    for element, other in others:
        assert other["status"] != element["status"]
        assert other["sources"]
