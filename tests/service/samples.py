"""Samples good and bad, the same in every run: golden requests with members changed at random."""

import copy
import json
import random
from pathlib import Path

REQUESTS = Path(__file__).parents[1] / "golden" / "requests.jsonl"

ECS = [0, 0.02, "1450 µS/cm", "1,8 mS/cm", "2-3 dS/m", "> 8 dS/m", 0.6, 3.1, 16, "n.d.", ""]
FAULTS = ["x", -1, True, [], "3 mg/L", {"value": 1}, {"unit": "mS/cm"}, "1e9", {"a": 1}]
FIELDS = ["ec", "ph", "temperature", "extraction", "substrate", "no_such_field"]
EXTRAS = [
    {},
    {"containers": [{"volume": "40 L"}]},
    {"containers": ["5 L", {"volume": "12 L", "drainage": "sealed"}]},
    {"containers": [{"name": "no volume"}]},
    {"crops": ["lettuce", {"crop": "French bean", "stage": "seedling"}]},
    {"crops": [{"crop": "no such crop"}, "NO SUCH CROP"]},
    {"crops": ["lettuce"], "thriving_crops": ["beetroot"]},
    {"language": "de"},
    {"language": "xx"},
    {"sample_id": "a" * 101},
    {"observations": ["white_crust_when_dry"], "not_seen": ["white_crust_when_dry"]},
    {"observations": "stalled_at_first_leaves"},
    {"previous": {"ec": 3, "sampled_on": "2025-05-01"}, "sampled_on": "2025-04-01"},
    {"target_ec": "0.8 mS/cm"},
]


def samples(count, seed=1):
    """Return requests for assessments; about a third of them are faulty."""
    lines = (json.loads(line) for line in REQUESTS.read_text(encoding="utf-8").splitlines())
    bodies = [each["body"] for each in lines if each["path"].split("?")[0] == "/v1/assessments"]
    dice = random.Random(seed)
    return [_changed(copy.deepcopy(dice.choice(bodies)), dice, n) for n in range(count)]


def _changed(request, dice, number):
    request = request if isinstance(request, dict) else {}
    if dice.random() < 0.9:
        request["sample_id"] = f"sample {number}"
    medium = request.get("medium")
    if isinstance(medium, dict):
        if dice.random() < 0.5:
            medium["ec"] = dice.choice(ECS)
        if dice.random() < 0.3:
            medium["extraction"] = dice.choice(["one_to_two", "1:5", "SME", None, "drill"])
        if dice.random() < 0.15:
            medium[dice.choice(FIELDS)] = dice.choice(FAULTS)
        if dice.random() < 0.15 and medium:
            medium.pop(dice.choice(sorted(medium)))
    if dice.random() < 0.4:
        request |= copy.deepcopy(dice.choice(EXTRAS))
    return request
