"""A share of the water is told for what asks for it, and rounded in one way."""

import re

import pytest

ALFALFA = [{"crop": "alfalfa", "stage": "established"}]
OUT_OF_RANGE = "leaching_requirement_out_of_range"


def of_alfalfa(post, **water):
    body = {"water": {"ec": 2.2} | water, "crops": ALFALFA}
    answer = post("/v1/leaching-requirement", body)
    [found] = answer["leaching"]
    warned = {each["id"]: each["sentence"] for each in answer["warnings"]}[OUT_OF_RANGE]
    return found, int(re.search(r"asks for (\d+) %", warned)[1])


def test_a_share_for_boron_is_not_laid_to_the_ec(post):
    by_ec, told = of_alfalfa(post)
    with_boron, still = of_alfalfa(post, ions={"boron": 3})
    assert with_boron["rule"] == "boron"
    assert with_boron["requirement"]["value"] > 2 * by_ec["requirement"]["value"]
    assert told == still


def test_the_sentence_and_the_warning_tell_one_figure(post):
    found, told = of_alfalfa(post)
    assert f"{told} %" in found["sentence"]


@pytest.mark.parametrize(
    ("collected", "said"),
    [
        (150, "about the 10 to 20 % usual"),
        (250, "Within the error of measuring"),
        (70, "Within the error of measuring"),
        (400, "more than"),
    ],
)
def test_a_share_outside_the_usual_is_not_told_to_be_within(post, collected, said):
    pots = [{"applied": "1 L", "collected": f"{collected} mL"}]
    assert said in post("/v1/leaching-fraction", {"pots": pots})["sentence"]
