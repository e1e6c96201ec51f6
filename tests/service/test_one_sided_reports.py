"""A report of cations alone, as the sodium adsorption ratio needs, contradicts nothing."""

import pytest

MEDIUM = {"extraction": "saturated_media_extract", "ec": 1.0, "ph": 6}
CATIONS = {"sodium": "2 meq/L", "calcium": "4 meq/L", "magnesium": "2 meq/L"}
ANIONS = {
    "chloride": "2 meq/L",
    "sulfate_s": "2 meq/L",
    "bicarbonate": "3.5 meq/L",
    "nitrate_n": "0.5 meq/L",
}


def asked(post, ec, ions):
    return post(
        "/v1/assessments",
        {
            "medium": MEDIUM,
            "water": {"ec": ec, "ions": ions},
            "crops": [{"crop": "tomato", "stage": "established"}],
        },
    )


@pytest.mark.parametrize("ions", [CATIONS, ANIONS])
def test_ions_of_one_sign_fit_an_ec_of_a_tenth_of_their_charge(post, ions):
    """Handbook 60: the sum of the cations [meq/L] is about ten times the EC [dS/m]."""
    answer = asked(post, 0.8, ions)
    assert answer["summary"].get("contradiction") is None
    assert answer["summary"]["leading_cause"]["sentence"].startswith("No figure is out of range.")


@pytest.mark.parametrize("ec", [0.2, 8.0])
def test_an_ec_that_no_other_sign_explains_is_a_contradiction(post, ec):
    assert asked(post, ec, CATIONS)["summary"]["contradiction"]
