"""Ions that a medium holds: water takes out what is dissolved, and leaves some of them behind."""

import pytest

IONS = {"sodium": 250, "potassium": 300, "calcium": 40, "magnesium": 15, "chloride": 500}


def plan(post, substrate, ions):
    request = {
        "medium": {
            "extraction": "saturated_media_extract",
            "ec": 4.5,
            "substrate": substrate,
            "ions": ions,
        },
        "water": {"ec": 0.4},
        "containers": [{"volume": 10, "height": 20, "drainage": "open"}],
        "target_ec": 2.0,
    }
    answer = post("/v1/flush-plans", request)
    return answer["flush_plan"][0], [each["id"] for each in answer["warnings"]]


@pytest.mark.parametrize(
    ("substrate", "calcium", "said"),
    [
        pytest.param("coir_dust", 40, True, id="coir as it comes"),
        pytest.param("coir_dust", 400, False, id="coir that was soaked with calcium"),
        pytest.param("sphagnum_peat", 40, False, id="peat"),
    ],
)
def test_coir_that_holds_sodium_wants_calcium_before_water(post, substrate, calcium, said):
    _, warnings = plan(post, substrate, IONS | {"calcium": calcium})
    assert ("coir_holds_sodium" in warnings) == said


def test_bark_keeps_more_of_its_potassium_than_peat(post):
    """Hoskins and others (2014): bark kept 37 % of the potassium applied to it."""
    left = {}
    for substrate in ("pine_bark", "sphagnum_peat"):
        carried = plan(post, substrate, IONS)[0]["costs"]["carried_off"]
        places = carried["of_nutrients"]
        left[substrate] = carried["share_lost"]["values"][places.index("potassium")]
        assert ("hoskins_2014" in carried["sources"]) == (substrate == "pine_bark")
    assert left["pine_bark"] < left["sphagnum_peat"]
