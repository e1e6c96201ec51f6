"""In which order the crops of a medium are named changes the order of rows, and nothing else."""

import json
import random
import re

import pytest

from saltcalc.data.crops import catalogue

CROPS = sorted(catalogue().crops)
STAGES = ("germination", "seedling", "established")
SAR, KINDS = (0.5, 4), ("potting mix", "sphagnum_peat", "loam", "general_potting_mix")


def drawn(seed):
    """Return a medium, its crops and a pot, of which each figure is drawn at random."""
    draw = random.Random(seed)
    ec = round(draw.choice((0.3, 0.7, 1.2, 2.0, 3.5)) * draw.uniform(0.8, 1.2), 2)
    ions = {
        ion: round(ec * draw.uniform(*ends), 1)
        for ion, ends in {
            "sodium": (10, 90),
            "calcium": (20, 70),
            "magnesium": (8, 40),
            "potassium": (20, 110),
            "nitrate_n": (10, 60),
            "sulfate_s": (15, 40),
            "chloride": (30, 120),
            "bicarbonate": (40, 200),
        }.items()
    }
    return {
        "medium": {
            "extraction": draw.choice(("saturated_media_extract", "one_to_two")),
            "substrate": draw.choice(KINDS),
            "ec": ec,
            "ph": round(draw.uniform(4.8, 7.8), 1),
            "ions": {**ions, "boron": draw.choice((0.1, 0.5, 1.5, 3))},
        },
        "containers": [{"volume": 10, "height": 20, "drainage": "open"}],
        "crops": [
            {"crop": crop, **draw.choice(({}, *({"stage": stage} for stage in STAGES)))}
            for crop in draw.sample(CROPS, draw.choice((2, 2, 3)))
        ],
    }


def told(client, request):
    """Return an answer with the rows of crops in the order of their ids, and no place of any."""
    answer = client.post("/v1/assessments?causes=all", json=request).json
    answer.pop("trace")
    for part in ("crops", "leaching"):
        answer[part] = sorted(answer[part] or [], key=lambda row: json.dumps(row, sort_keys=True))
    text = re.sub(r"crops/\d+|leaching/\d+", "crops", json.dumps(answer))
    answer = json.loads(text)
    for part in ("assumptions", "warnings", "not_computed"):
        answer[part] = sorted(json.dumps(row, sort_keys=True) for row in answer[part])
    answer["summary"]["cautions"].sort(key=lambda each: each["sentence"])
    answer.pop("sources")
    return answer


@pytest.mark.parametrize("seed", range(60))
def test_the_order_in_which_crops_are_named_changes_nothing(client, seed):
    request = drawn(seed)
    backwards = request | {"crops": request["crops"][::-1]}
    assert told(client, request) == told(client, backwards)


TIED = {
    "medium": {
        "extraction": "saturated_media_extract",
        "ec": 0.91,
        "ph": 6.8,
        "substrate": "general_potting_mix",
        "ions": {"calcium": 27, "magnesium": 28.4, "potassium": 101.1, "sodium": 43.3,
                 "nitrate_n": 17.8, "sulfate_s": 38.9, "chloride": 85.8, "bicarbonate": 124.1,
                 "boron": 1.5},
    },
    "crops": [{"crop": "parsley"}, {"crop": "mustard"}],
}  # fmt: skip


def boron(client, crops):
    ranked = told(client, TIED | {"crops": crops})["causes"]["ranked"]
    return next(each["verdict"] for each in ranked if each["cause"] == "boron_toxicity")


def test_boron_counts_for_the_crop_that_it_harms_first(client):
    """Parsley stands 4 mg/L in soil water, mustard 2 (both of ``bc_boron`` in crop_boron.csv)."""
    parsley, mustard = TIED["crops"]
    assert boron(client, [parsley, mustard]) == boron(client, [mustard, parsley])
    assert boron(client, [parsley, mustard]) == boron(client, [mustard]) == "possible"
    assert boron(client, [parsley]) != "possible"


def test_boron_is_not_held_against_a_crop_that_thrives(client):
    parsley, mustard = TIED["crops"]
    thriving = TIED | {"crops": [parsley, mustard], "thriving_crops": ["mustard"]}
    ranked = told(client, thriving)["causes"]["ranked"]
    found = {each["cause"]: each["verdict"] for each in ranked}
    assert found["boron_toxicity"] != "possible"
