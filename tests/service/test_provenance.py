"""Beside every limit, range and factor stands how it is known, but where it was read."""

from saltcalc.data.tables import PROVENANCES
from saltcalc.words.text import full, short
from tests.service.test_api_spec import COMMITTED

CHLORIDE = {
    "medium": {"extraction": "saturated_paste", "ec": 1.0, "ions": {"chloride": "1500 mg/L"}},
    "crops": [{"crop": "strawberry", "stage": "established"}],
}
"""No other limit of the crop is met as badly as its chloride limit, which was not looked up."""

READ = {
    "medium": {"extraction": "saturated_paste", "ec": 6.0},
    "crops": [{"crop": "bean", "stage": "established"}],
}


def _limits(answer):
    return {limit["id"]: limit for limit in answer["crops"][0]["limits"]}


def test_a_limit_from_memory_says_so_and_one_that_was_read_does_not(post):
    limits = _limits(post("/v1/assessments", CHLORIDE))
    assert limits["chloride"]["governs"]
    assert limits["chloride"]["provenance"] == "memory"
    assert "provenance" not in _limits(post("/v1/assessments", READ))["yield_response"]


def test_the_terminal_says_where_a_verdict_rests_on_memory(post):
    def told(request):
        lines = full(post("/v1/assessments", request)).splitlines()
        crops = lines[lines.index("Crops") :]
        return "\n".join(crops[: crops.index("")])

    assert "(figure from memory)" in told(CHLORIDE)
    assert "figure from memory" not in told(READ)


def test_the_short_words_say_where_the_verdict_rests_on_memory(post):
    def how_bad(request):
        answer = post("/v1/assessments", request)
        crop = answer["summary"]["worst_crop"]
        (said,) = [line for line in short(answer).parts[0].said if crop["sentence"][:-1] in line]
        return crop["measure"], crop.get("provenance"), said

    measure, known, said = how_bad(CHLORIDE)
    assert (measure, known) == ("chloride", "memory")
    assert said.endswith(" (figure from memory).")
    measure, known, said = how_bad(READ)
    assert measure == "ec"
    assert known != "memory"
    assert "memory" not in said


def test_the_contract_says_what_a_missing_level_means():
    found = {
        name: schema["properties"]["provenance"]
        for name, schema in COMMITTED["components"]["schemas"].items()
        if "provenance" in schema.get("properties", {})
    }
    of_answers = {
        "Limit", "CropAnswer", "Salinity", "OtherClass", "Element", "OtherRange", "Nitrogen",
        "IonHazard", "IrrigationWater", "Leaching", "FlushPlan", "NutrientCosts", "NitrogenSource",
        "Evidence", "CauseCorrection", "SecondFigures", "RankedCrop", "ConversionStep",
        "Crust", "MediumSodicity", "WaterSodicity", "WorstCrop",
    }  # fmt: skip
    assert of_answers <= found.keys()
    for name, member in found.items():
        assert tuple(member["enum"]) == PROVENANCES, name
        assert ("left out where it is `seen`" in member.get("description", "")) == (
            name in of_answers
        ), name
