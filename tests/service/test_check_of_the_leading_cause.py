"""The next check is one that shows the leading cause, by what can be done where the crop stands."""

import pytest

SME = "saturated_media_extract"
POT = [{"volume": "7 L", "drainage": "open"}]
SEALED = [{"volume": "9 L", "drainage": "sealed"}]
BERRY = [{"crop": "blackberry", "stage": "seedling"}]
ONION = [{"crop": "onion", "stage": "seedling"}]
BORON = {"extraction": SME, "ec": 1.5, "ph": 7.4, "ions": {"boron": 5.2, "nitrate_n": 70}}
SALT = {
    "extraction": SME,
    "ec": 5.2,
    "ph": 6.9,
    "ions": {"sodium": 420, "chloride": 780, "nitrate_n": 60, "potassium": 500},
}
FIELD = {
    "extraction": "saturated_paste",
    "ec": 1.4,
    "ph": 7.4,
    "ions": {"boron": 3.4, "calcium": "6 meq/L", "magnesium": "3 meq/L", "sodium": "5 meq/L"},
}
IN_POTS = {
    "cut_a_watered_pot",
    "weigh_the_pot",
    "air_space_by_draining",
    "warm_half_the_pots",
    "feed_half_the_pots",
}


@pytest.fixture
def check(client):
    def asked(**request):
        reply = client.post("/v1/assessments?causes=all", json=request)
        assert reply.status_code == 200
        found = reply.json["causes"]
        return found["next_check"] and found["next_check"]["id"]

    return asked


@pytest.mark.parametrize("containers", [POT, SEALED])
def test_of_an_ion_in_the_medium_the_water_is_asked_first(check, containers):
    speckled = ["speckled_older_leaves", "marginal_burn"]
    boron = check(medium=BORON, crops=BERRY, containers=containers, observations=speckled)
    assert boron == "boron_in_the_water"
    salt = check(medium=SALT, crops=ONION, containers=containers)
    assert salt == "ions_in_the_water"


def test_a_water_that_is_known_is_not_asked_for_again(check):
    water = {"ec": 0.6, "ions": {"sodium": 30, "chloride": 40, "boron": 0.1}}
    assert check(medium=SALT, water=water, crops=ONION, containers=POT) == "cress_three_ways"
    boron = check(medium=BORON, water=water, crops=BERRY, containers=POT)
    assert boron not in {"boron_in_the_water", "alkalinity_strip"}


@pytest.mark.parametrize(
    "seen", [["marginal_burn"], ["cold_nights", "stays_wet"], ["pale_whole_plant"]]
)
def test_nobody_moves_pots_in_a_field(check, client, seen):
    water = {"ec": 0.8, "ions": {"boron": 3.2}}
    request = {"medium": FIELD, "water": water, "crops": [{"crop": "lemon"}], "observations": seen}
    assert check(**request) not in IN_POTS
    reply = client.post("/v1/assessments?causes=all", json=request).json["causes"]
    settling = {each["settled_by"]["check"] for each in reply["ranked"] if "settled_by" in each}
    assert not settling & IN_POTS


def test_a_weedkiller_is_settled_by_peas_beside_salt_and_a_high_ph(check):
    medium = {"extraction": "one_to_five", "ec": 0.5, "ph": 7.2, "substrate": "manure_compost"}
    seen = ["twisted_new_growth", "only_broadleaf_crops_suffer"]
    bean = [{"crop": "bean", "stage": "seedling"}]
    for ec in (0.5, 0.9):
        found = check(medium=medium | {"ec": ec}, crops=bean, containers=POT, observations=seen)
        assert found == "peas_two_ways"
    proved = [*seen, "test_peas_twisted"]
    assert check(medium=medium, crops=bean, containers=POT, observations=proved) is None


def test_too_much_salt_is_checked_by_rinsing(check):
    medium = {"extraction": "one_to_two", "ec": 2.4, "ph": 6.9}
    found = check(medium=medium, crops=ONION, containers=POT, observations=["ammonia_smell"])
    assert found != "warm_half_the_pots"
    assert check(medium=medium, crops=ONION, containers=POT) == "cress_three_ways"


def test_newest_casualties_are_looked_at_where_damping_off_is_in_question(check):
    medium = {"extraction": "one_to_two", "ec": 1.9}
    seen = ["rotted_roots", "sour_smell", "stays_wet", "wilting_while_wet"]
    pepper = [{"crop": "pepper", "stage": "established"}]
    found = check(medium=medium, crops=pepper, containers=POT, observations=seen)
    assert found == "cut_a_watered_pot"
    low = {"extraction": "one_to_two", "ec": 0.3}
    pinched = ["deaths_in_spreading_patches"]
    assert check(medium=low, crops=ONION, containers=POT, observations=pinched) in {
        "look_at_stem_base",
        "look_at_roots",
    }
