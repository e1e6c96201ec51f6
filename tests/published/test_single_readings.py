"""Three findings that speak against judging by one reading.

Gerbera in composts: greenness did not go with the pH, and iron chelate raised it ("Iron chlorosis
in gerbera as related to properties of various types of compost used as growing media", abstract
read). Seed geranium with Pythium: deaths did not go with the EC of the saturated extract (Gladstone
& Moorman 1989, Plant Disease 73:733, abstract read). Sand cherry: growth went with the diffusion
of gas, not with air-filled porosity (known at second hand). The figures of the cases are invented.
"""

import pytest

SME = "saturated_media_extract"


@pytest.fixture
def verdicts(client):
    def of(crop, medium, signs=(), stage="established", **more):
        request = {
            "medium": {"extraction": SME} | medium,
            "crops": [{"crop": crop, "stage": stage}],
            "observations": list(signs),
            **more,
        }
        answer = client.post("/v1/assessments?parts=causes&causes=all", json=request)
        assert answer.status_code == 200, answer.json
        return {each["cause"]: each for each in answer.json["causes"]["ranked"]}

    return of


@pytest.mark.parametrize("ph", [6.4, 6.6, 6.75])
def test_a_ph_above_its_range_alone_is_no_proof_in_a_green_plant(verdicts, ph):
    found = verdicts("gerbera", {"ec": 1.5, "ph": ph, "substrate": "peat_green_compost"})
    assert found["ph_too_high"]["verdict"] == "possible"
    assert found["iron_shortage"]["verdict"] != "supported"


def test_yellow_young_leaves_stay_iron_within_the_range_of_ph(verdicts):
    medium = {"ec": 1.5, "ph": 5.7, "substrate": "peat_green_compost"}
    yellow = verdicts("gerbera", medium, ["yellow_between_veins_young_leaves"])
    assert yellow["iron_shortage"]["verdict"] in ("possible", "supported")
    assert yellow["iron_shortage"]["rank"] == 1
    helped = ["yellow_between_veins_young_leaves", "greens_up_after_iron"]
    assert verdicts("gerbera", medium, helped)["iron_shortage"]["verdict"] == "supported"


@pytest.mark.parametrize("ec", [1.2, 2.4, 3.2, 3.8])
@pytest.mark.parametrize(
    "signs",
    [["stem_collapse_at_soil_line"], ["rotted_roots", "deaths_in_spreading_patches"]],
)
def test_seedlings_that_rot_are_damped_off_whatever_the_ec(verdicts, ec, signs):
    found = verdicts("zonal geranium", {"ec": ec, "ph": 6.2}, signs, "seedling")
    assert found["damping_off"]["verdict"] == "supported"
    assert found["damping_off"]["rank"] == 1


@pytest.mark.parametrize(("substrate", "height"), [("sphagnum_peat", 7), ("coir_dust", 8)])
def test_air_space_that_is_worked_out_is_no_proof_without_a_wet_sign(verdicts, substrate, height):
    container = [{"volume": "1 L", "height": f"{height} cm", "drainage": "open"}]
    medium = {"ec": 1.2, "ph": 6.0, "substrate": substrate}
    dry = verdicts("rose", medium, containers=container)["lack_of_air"]
    assert dry["verdict"] != "supported"
    wet = verdicts("rose", medium, ["stays_wet", "rotted_roots"], containers=container)
    assert wet["lack_of_air"]["verdict"] == "supported"
