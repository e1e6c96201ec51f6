"""A boom gives whole runs, and the litres that are told are those of its runs."""

import pytest

CELLS = {
    "medium": {
        "extraction": "saturated_media_extract", "ec": 3.5, "substrate": "peat_vermiculite",
    },
    "target_ec": 1.2,
    "water": {"ec": 0.4},
    "containers": [{"volume": "25 mL", "height": 4, "count": 12800}],
}  # fmt: skip

TRAY = {"cells_per_tray": 128, "tray_length": 54, "tray_width": 28}


def plan_of(post, **means):
    return post("/v1/flush-plans", CELLS | {"means": {"by": "boom", **means}})["flush_plan"][0]


@pytest.mark.parametrize("run", [1.5, 3, 9.9, 20])
@pytest.mark.parametrize("tray", [{}, TRAY], ids=["cells", "trays"])
def test_a_pass_is_so_many_runs(post, run, tray):
    plan = plan_of(post, run_depth=run, **tray)
    pouring = plan["pouring"]
    depth = pouring["depth_a_pass"]["value"]
    assert depth == pytest.approx(pouring["boom_runs_a_pass"] * run, rel=1e-3)
    litres, each = plan["water_per_container"]["value"], plan["applied_each"]["value"]
    assert litres == pytest.approx(plan["passes"] * each, rel=1e-3)
    on_cell = 28 * 54 / 128 if tray else 25 / 4
    assert each == pytest.approx(depth * on_cell / 10_000, rel=1e-3)
    assert litres <= 3 * 0.025 * 1.0001
    assert plan["water_total"]["value"] == pytest.approx(12800 * litres, rel=1e-3)


def test_runs_that_there_is_room_for_fill_no_pass_beyond_it(post):
    free = plan_of(post)["applied_each"]["value"]
    assert plan_of(post, run_depth=3)["applied_each"]["value"] <= free * 1.0001


def test_without_a_depth_of_its_runs_the_pass_is_as_it_was(post):
    by_can = post("/v1/flush-plans", CELLS)["flush_plan"][0]
    assert plan_of(post)["applied_each"] == by_can["applied_each"]


def test_runs_too_big_to_get_there_in_are_no_plan(post):
    """Two runs of 25 mm on a tray are more than twice what its cells hold, and not enough."""
    plan = plan_of(post, run_depth=25, **TRAY)
    assert plan["passes"] == 0
    assert plan["options"]


@pytest.mark.parametrize("by", ["can", "hose", "dripper"])
@pytest.mark.parametrize("flow", [None, "6 L/min"])
def test_cells_are_not_watered_one_by_one_whatever_is_at_hand(post, by, flow):
    means = {"by": by} | ({"flow": flow} if flow else {})
    by_boom, told = plan_of(post), plan_of(post, **means)
    assert told["pouring"]["means"] == by
    assert told["pouring"]["depth_a_pass"] == by_boom["pouring"]["depth_a_pass"]
    assert not {"seconds_a_pass", "dripper_hours"} & told["pouring"].keys()
    assert told["in_short"] == by_boom["in_short"]
    assert "mL" not in told["rested_check"].get("sentence", told["in_short"])


def test_pots_are(post):
    pots = {"containers": [{"volume": "3 L", "height": 16}]}
    request = CELLS | pots | {"means": {"by": "hose", "flow": "6 L/min"}}
    pouring = post("/v1/flush-plans", request)["flush_plan"][0]["pouring"]
    assert "depth_a_pass" not in pouring
    assert pouring["seconds_a_pass"]["value"] > 1
