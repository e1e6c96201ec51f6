"""Reports without a slip are not accused of one; partial reports are read for what they hold."""

import numpy as np
import pytest

from saltcalc.science.conductivity import ec_from_ions

CATIONS = {"sodium": 4, "calcium": 8, "magnesium": 4, "potassium": 4, "ammonium_n": 0.5}
ANIONS = {"nitrate_n": 10, "sulfate_s": 5, "chloride": 4, "bicarbonate": 1.5}


def medium(post, **given):
    return post("/v1/ions", {"medium": given})["ions"]["medium"]


def by_charge(amounts):
    return {ion: f"{amount} meq/L" for ion, amount in amounts.items()}


def test_reports_with_the_scatter_of_laboratories_show_no_slip(post):
    rng = np.random.default_rng(20)
    for _ in range(15):
        scale = rng.uniform(0.4, 2.5)
        true = {
            ion: amount * scale * rng.uniform(0.5, 1.6)
            for ion, amount in (CATIONS | ANIONS).items()
        }
        balance = sum(true[ion] for ion in CATIONS) / sum(true[ion] for ion in ANIONS)
        true |= {ion: true[ion] * balance for ion in ANIONS}
        ec = float(ec_from_ions(true, 6.2).ec)
        answer = medium(
            post,
            extraction="saturated_media_extract",
            ph=6.2,
            ec=ec * rng.normal(1, 0.06),
            ions=by_charge({ion: amount * rng.normal(1, 0.06) for ion, amount in true.items()}),
        )
        assert "slips" not in answer["agreement"]


def test_a_balanced_report_a_little_off_its_ec_shows_no_slip(post):
    ions = {"calcium": 0.5, "magnesium": 0.3, "sodium": 9, "potassium": 0.2}
    ions |= {"sulfate_s": 2, "chloride": 3, "bicarbonate": 5}
    answer = medium(post, extraction="saturated_paste", ec=0.9, ions=by_charge(ions))
    assert "slips" not in answer["agreement"]


def test_a_unit_that_was_written_is_believed(post):
    ions = {ion: f"{amount} mg/L" for ion, amount in (CATIONS | ANIONS | {"chloride": 5}).items()}
    answer = medium(post, extraction="saturated_media_extract", ec=2.25, ions=ions)
    assert not any(slip["kind"] == "unit" for slip in answer["agreement"].get("slips", []))


def test_charge_typed_as_mass_is_named(post):
    answer = medium(
        post, extraction="saturated_media_extract", ec=2.25, ions=CATIONS | ANIONS | {"chloride": 5}
    )
    assert answer["agreement"]["slips"][0]["id"] == "equivalents_as_milligrams"


@pytest.mark.parametrize(
    "ions", [{"sodium": 50, "nitrate_n": 300}, {"nitrate_n": 60, "ammonium_n": 5}]
)
def test_a_partial_report_is_named_after_the_side_that_was_reported(ions, post):
    assert medium(post, ions=ions)["dominant_salts"]["id"] == "nutrient"


def test_a_sodic_medium_of_low_ec_is_not_called_harmless(post):
    ions = by_charge({"sodium": 7, "calcium": 0.5, "magnesium": 0.3})
    answer = post("/v1/sodicity", {"medium": {"ec": 0.8, "ions": ions}})["sodicity"]["medium"]
    assert answer["sar"]["value"] == pytest.approx(7 / 0.4**0.5, rel=5e-5)
    assert "no problem" not in answer["sentence"]


def test_rain_is_not_blamed_for_its_sodium(post):
    ions = by_charge({"sodium": 0.1, "calcium": 0.3, "magnesium": 0.1})
    answer = post("/v1/sodicity", {"water": {"ec": 0.02, "ions": ions}})
    hazard = next(each for each in answer["warnings"] if each["id"] == "infiltration_hazard")
    assert "pure" in hazard["sentence"]
    assert "sodium is high" not in hazard["sentence"]
