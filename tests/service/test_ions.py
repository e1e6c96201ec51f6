"""Which salt it is, over HTTP."""

import pytest

from saltcalc.science import phreeqc
from saltcalc.science.balance import ANIONS, CATIONS
from tests.extracts import NUTRIENT

MOLAR_MASS = {"nitrate": 62.004, "nitrogen": 14.007}


def meq(ions):
    return {ion: f"{amount} meq/L" for ion, amount in ions.items()}


def warnings(answer):
    return {warning["id"]: warning for warning in answer["warnings"]}


def charges(answer):
    shares = answer["ions"]["water"]["shares"]
    return dict(zip(shares["of_ions"], shares["as_charge"]["values"], strict=True))


def missing(answer):
    return {each["part"]: each["missing"] for each in answer["not_computed"]}


@pytest.fixture
def read(post):
    def send(ions, **others):
        medium = {"ions": meq(ions), "extraction": "saturated_media_extract"} | others
        return post("/v1/ions", {"medium": medium})

    return send


def test_a_sound_report_is_read_through(read):
    answer = read(NUTRIENT, ec=2.1, ph=6.0)
    part = answer["ions"]["medium"]
    assert part["ec_from_ions"]["value"] == pytest.approx(2.09, rel=0.03)
    assert 0.998 < sum(part["shares"]["of_ec"]["values"]) <= 1.00005
    assert part["shares"]["of_ions"][0] == "nitrate_n"
    assert part["shares"]["as_mass"]["unit"] == "mg/L"
    assert part["shares"]["as_mass"]["values"][0] == pytest.approx(140.07, rel=5e-5)
    assert part["charge_balance"]["verdict"] == "balanced"
    assert part["agreement"]["verdict"] == "agree"
    assert "slips" not in part["agreement"]
    assert "ec_lower_bound" not in part
    assert part["dominant_salts"]["id"] == "nutrient"
    assert answer["ions"]["water"] is None
    assert missing(answer)["ions/water"] == ["/water/ions"]


def test_the_assessment_holds_the_same_ions(post, read):
    medium = {"ions": meq(NUTRIENT), "ec": 2.1, "ph": 6.0, "extraction": "saturated_media_extract"}
    whole = post("/v1/assessments", {"medium": medium})
    assert whole["ions"] == read(NUTRIENT, ec=2.1, ph=6.0)["ions"]


def test_nitrate_given_as_nitrate_is_named(read):
    slipped = NUTRIENT | {"nitrate_n": 10 * MOLAR_MASS["nitrate"] / MOLAR_MASS["nitrogen"]}
    answer = read(slipped, ec=2.1, ph=6.0)
    slips = answer["ions"]["medium"]["agreement"]["slips"]
    assert slips[0]["id"] == "nitrate_as_nitrate"
    assert slips[0]["ec_from_ions"]["value"] == pytest.approx(2.09, rel=0.03)
    assert "NO3" in warnings(answer)["reporting_slip"]["sentence"]


def test_a_factor_of_ten_is_named(read):
    tenfold = {ion: 10 * amount for ion, amount in NUTRIENT.items()}
    slips = read(tenfold, ec=2.1, ph=6.0)["ions"]["medium"]["agreement"]["slips"]
    assert ("all_ions", 0.1) in [(slip["kind"], slip["factor"]) for slip in slips]


def test_another_extraction_is_named(read, post):
    sent = {"extraction": "saturated_media_extract", "ec": 2.1, "to": "one_to_five"}
    thin = post("/v1/conductivity/convert", sent)["ec"]["value"] / 2.1
    dilute = {ion: thin * amount for ion, amount in NUTRIENT.items()}
    slips = read(dilute, ec=2.1, ph=6.0)["ions"]["medium"]["agreement"]["slips"]
    assert ("extraction", "one_to_five") in [(slip["kind"], slip["id"]) for slip in slips]


def test_what_is_missing_is_named_with_its_candidates(read):
    without = {ion: amount for ion, amount in NUTRIENT.items() if ion != "sulfate_s"}
    part = read(without, ec=2.1, ph=6.0)["ions"]["medium"]
    lacking = part["charge_balance"]["missing_charge"]
    assert lacking["kind"] == "anions"
    assert lacking["amount"]["value"] == pytest.approx(7.0, abs=0.1)
    # At pH 6 no soil air holds 7 mmol_c/L of bicarbonate in solution.
    assert lacking["candidates"] == ["sulfate_s"]


def test_without_a_reading_the_whole_assessment_runs_on_the_floor(post, demo_request):
    del demo_request["medium"]["ec"], demo_request["medium"]["ions"]["bicarbonate"]
    answer = post("/v1/assessments", demo_request)
    floor = answer["ions"]["medium"]["ec_lower_bound"]["ec"]["value"]
    assert answer["salinity"]["ec_25c"]["value"] == pytest.approx(floor, rel=5e-5)
    assert answer["salinity"]["basis"] == "lower_bound"
    assert answer["flush_plan"][0]["passes"] == 0
    assert "at least" in answer["flush_plan"][0]["sentence"]
    assert answer["crops"][0]["verdict"]
    assert warnings(answer)["ec_is_lower_bound"]["severity"] == "caution"
    assumed = {each["id"]: each for each in answer["assumptions"]}
    assert assumed["medium_ec_lower_bound"]["field"] == "/medium/ec"
    assert missing(answer)["ions/medium/agreement"] == ["/medium/ec"]


def test_a_whole_report_whose_charges_agree_gives_an_estimate(post, demo_request):
    del demo_request["medium"]["ec"]
    answer = post("/v1/assessments", demo_request)
    salinity, ec = answer["salinity"], answer["salinity"]["ec_25c"]
    assert salinity["basis"] == "estimated"
    assert 0.9 < ec["low"] / ec["value"] < 0.98
    assert 1.02 < ec["high"] / ec["value"] < 1.1
    assert "ec_is_lower_bound" not in warnings(answer)
    assert answer["crops"][0]["verdict"] == "fails"
    assert "medium_ec_of_ions" in {each["id"] for each in answer["assumptions"]}
    demo_request["medium"]["ions"]["sodium"] *= 2  # charges apart by more than 5 %
    assert post("/v1/assessments", demo_request)["salinity"]["basis"] == "lower_bound"


def test_the_estimate_needs_bicarbonate_unless_the_medium_is_acid(post, demo_request):
    del demo_request["medium"]["ec"], demo_request["medium"]["ions"]["bicarbonate"]
    demo_request["medium"]["ions"]["chloride"] = "417 mg/L"  # so that the charges still agree
    for ph, basis in ((6.4, "lower_bound"), (5.3, "estimated")):
        demo_request["medium"]["ph"] = ph
        assert post("/v1/assessments", demo_request)["salinity"]["basis"] == basis


def test_a_floor_shows_the_most_of_the_reported_charge(post):
    medium = {"extraction": "saturated_media_extract", "ions": {"nitrate_n": 280}}
    salinity = post("/v1/assessments", {"medium": medium})["salinity"]
    low, most = salinity["ec_25c"]["value"], salinity["ec_upper_bound"]["value"]
    # Single salts apart by a quarter, from magnesium nitrate to potassium nitrate.
    assert 1.1 < most / low < 1.35
    assert salinity["class"] is None
    assert salinity["possible_classes"][-1] == "extreme"


def test_nitrate_alone_sets_a_floor(post):
    answer = post("/v1/assessments", {"medium": {"ions": {"nitrate_n": 280}}})
    # 20 mmol/L of nitrate (71 S cm²/mol) with a cation (50) is 2.4 dS/m, less some for strength.
    assert 1.9 < answer["salinity"]["ec_25c"]["value"] < 2.4
    assert answer["ions"]["medium"]["ec_lower_bound"]["counter_ion"] in CATIONS


@pytest.mark.parametrize("solution", ["medium", "water"])
def test_an_all_zero_report(post, solution):
    zero = dict.fromkeys([*CATIONS, *ANIONS, "boron"], 0)
    answer = post("/v1/ions", {solution: {"ec": 0, "ph": 7, "ions": zero}})
    part = answer["ions"][solution]
    assert part["ec_from_ions"]["value"] < 1e-3
    assert part["dominant_salts"] is None
    assert part["crust"] is None
    assert part["charge_balance"]["error"] is None


def test_pure_rain_water(post):
    rain = {"sodium": "0.05 meq/L", "chloride": "0.05 meq/L", "calcium": "0.02 meq/L"}
    answer = post("/v1/ions", {"water": {"ec": 0.01, "ph": 5.6, "ions": rain}})
    assert answer["ions"]["water"]["ec_from_ions"]["value"] < 0.02
    assert answer["ions"]["water"]["agreement"]["verdict"]


@pytest.mark.parametrize("ion", [*CATIONS, *ANIONS, "boron"])
def test_a_single_ion(post, ion):
    answer = post("/v1/assessments", {"medium": {"ions": {ion: 50}, "ph": 6.5}})
    part = answer["ions"]["medium"]
    assert (part is None) == (ion == "boron")


def test_saturation_says_who_computed_it(read, monkeypatch):
    report = NUTRIENT | {"bicarbonate": 1.0}
    monkeypatch.setattr(phreeqc, "available", lambda: False)
    answer = read(report, ph=6.5)
    own = answer["ions"]["medium"]["saturation"]
    assert own["method"] == "ion_pairs"
    assert "ions/medium/saturation/phreeqc" in missing(answer)
    monkeypatch.undo()
    if phreeqc.available():
        engine = read(report, ph=6.5)["ions"]["medium"]["saturation"]
        assert engine["method"] == "phreeqc"
        for mineral in ("gypsum", "calcite"):
            assert engine[mineral]["index"]["value"] == pytest.approx(
                own[mineral]["index"]["value"], abs=0.07
            )


def test_a_gypsum_crust_comes_first(read):
    answer = read({"calcium": 28.0, "magnesium": 3.0, "sulfate_s": 29.0, "chloride": 2.0}, ph=7.0)
    part = answer["ions"]["medium"]
    assert part["dominant_salts"]["id"] == "sulfate"
    assert part["crust"]["names"][0] == "gypsum"
    assert part["saturation"]["gypsum"]["saturated"]


@pytest.mark.parametrize(
    ("given", "mmolc"),
    [
        ("100 mg/L CaCO3", 2.0),
        (100, 2.0),
        ("122 mg/L HCO3", 2.0),
        ("5.6 °dH", 2.0),
        ("10 °fH", 2.0),
        ("2 meq/L", 2.0),
        ({"value": 7.0, "unit": "°e"}, 2.0),
    ],
)
def test_alkalinity_and_hardness_in_their_reported_forms(post, given, mmolc):
    alkaline = post("/v1/ions", {"water": {"ec": 0.4, "alkalinity": given}})
    assert charges(alkaline)["bicarbonate"] == pytest.approx(mmolc, rel=0.005)
    if "HCO3" not in str(given):
        hard = post("/v1/ions", {"water": {"ec": 0.4, "hardness": given}})
        charge = charges(hard)
        assert charge["calcium"] + charge["magnesium"] == pytest.approx(mmolc, rel=0.005)
        assumed = {each["id"] for each in hard["assumptions"]}
        assert {"water_calcium_from_hardness", "water_magnesium_from_hardness"} <= assumed


def test_a_sum_given_twice_is_refused(refuse):
    water = {"ions": {"bicarbonate": 100}, "alkalinity": "2 meq/L"}
    problem = refuse("/v1/ions", {"water": water})
    assert problem["errors"][0]["pointer"] == "/water/alkalinity"
    water = {"ions": {"calcium": 40, "magnesium": 10}, "hardness": "2 meq/L"}
    problem = refuse("/v1/ions", {"water": water})
    assert problem["errors"][0]["pointer"] == "/water/hardness"


def test_milligrams_per_litre_of_nothing_are_refused(refuse):
    problem = refuse("/v1/ions", {"water": {"alkalinity": "100 mg/L"}})
    assert "mg/L CaCO3" in str(problem["errors"][0])


def test_neither_medium_nor_water_is_refused(refuse):
    refuse("/v1/ions", {})


# An invented extract of a gypsum-dressed medium: saturated with gypsum, little else.
GYPSUM = {"calcium": 32.0, "magnesium": 3.0, "sodium": 2.0, "sulfate_s": 33.0, "chloride": 4.0}


class TestGypsum:
    def sent(self, ions, ec):
        return {
            "medium": {
                "extraction": "saturated_media_extract",
                "ec": ec,
                "ph": 7.0,
                "ions": meq(ions),
            },
            "water": {"ec": 0.3, "ions": {"calcium": 30, "bicarbonate": 90}},
            "containers": [{"volume": 10, "drainage": "open"}],
            "crops": [{"crop": "French bean", "stage": "established"}],
        }

    def test_crops_stand_the_published_shift_more(self, post):
        with_gypsum = post("/v1/assessments", self.sent(GYPSUM, 3.0))
        salt = {"sodium": 30.0, "calcium": 6.0, "magnesium": 2.0, "chloride": 38.0}
        without = post("/v1/assessments", self.sent(salt, 3.0))
        assert with_gypsum["ions"]["medium"]["saturation"]["gypsum"]["saturated"]
        found = warnings(with_gypsum)
        assert "2 dS/m" in found["gypsum_tolerance_shift"]["sentence"]
        assert "gypsum_tolerance_shift" not in warnings(without)
        assert with_gypsum["sources"]["fao29"]
        yields = [
            answer["crops"][0]["relative_yield"]["value"] for answer in (with_gypsum, without)
        ]
        assert yields[0] > yields[1]
        with_shift, plain = (
            answer["crops"][0]["flush_down_to"]["saturated_extract"]["values"]
            for answer in (with_gypsum, without)
        )
        assert with_shift == pytest.approx([ec + 2.0 for ec in plain], rel=5e-5)

    @pytest.mark.parametrize(("ec", "times"), [(2.8, "within"), (4.5, "1.3 times")])
    def test_the_ec_is_held_against_the_limit_with_gypsum_in_both(self, ec, times, post):
        """Bean: 1.0 dS/m and 10 % of its yield at 19 %/(dS/m); 2 dS/m more for gypsum (FAO 29)."""
        answer = post("/v1/assessments", self.sent(GYPSUM, ec))
        worst, crop = answer["summary"]["worst_crop"], answer["crops"][0]
        assert worst["found"]["value"] == crop["ec_saturated_extract"]["value"] == ec
        assert worst["allowed"] == crop["max_tolerated_ec"]
        assert crop["max_tolerated_ec"]["value"] > 3.0
        assert times in worst["sentence"]

    def test_the_flush_plan_tells_of_the_plateau(self, post):
        sent = self.sent(GYPSUM, 4.5)
        found = warnings(post("/v1/assessments", sent))["gypsum_plateau"]
        assert found["field"] == "flush_plan"
        assert "2.4 dS/m" in found["sentence"] or "2.3 dS/m" in found["sentence"]
        assert "gypsum_plateau" in warnings(post("/v1/flush-plans", sent))


@pytest.mark.parametrize(
    ("ions", "name"),
    [
        ({"nitrate_n": 10.0}, "nitrate salts"),
        ({"calcium": 8.0, "potassium": 2.0, "nitrate_n": 10.0}, "nitrate salts, mostly calcium"),
        ({"potassium": 9.0, "nitrate_n": 5.0, "sulfate_s": 4.0}, "potassium salts, mostly nitrate"),
        ({"sodium": 9.0, "chloride": 9.0}, "sodium chloride (common salt)"),
        ({"magnesium": 9.0, "sulfate_s": 9.0}, "sulfate salts, mostly magnesium"),
        ({"calcium": 9.0, "sulfate_s": 9.0}, "gypsum and other sulfate salts"),
    ],
)
def test_salts_are_named_by_what_leads(read, ions, name):
    assert read(ions)["ions"]["medium"]["dominant_salts"]["name"] == name


def test_calcium_phosphates_have_an_index_where_phosphorus_is_known(read):
    with_phosphorus = read(NUTRIENT, ec=2.1, ph=6.5)["ions"]["medium"]["saturation"]
    assert with_phosphorus["hydroxyapatite"]["index"] != with_phosphorus["brushite"]["index"]
    without = read({"sodium": 5.0, "chloride": 5.0}, ec=0.6, ph=6.5)["ions"]["medium"]["saturation"]
    assert not {"brushite", "hydroxyapatite"} & set(without)


def test_the_crust_is_told_by_order_of_concentration(read):
    crust = read(NUTRIENT, ec=2.1, ph=6.5)["ions"]["medium"]["crust"]
    assert crust["names"]
    for times in crust["concentrations"]["values"]:
        assert f"{times:e}"[:4] in {"1.00", "3.00"}


def test_a_report_without_a_third_of_its_charge_tells_no_crust(read):
    answer = read({"sodium": 3.0, "chloride": 6.0, "sulfate_s": 2.0})
    assert answer["ions"]["medium"]["crust"] is None
    asked = missing(answer)["ions/medium/crust"]
    assert "/medium/ions/calcium" in asked
    assert all(each.startswith("/medium/ions/") for each in asked)


@pytest.mark.parametrize(("solids", "doubted"), [(400, True), (640, False), (1100, True)])
@pytest.mark.parametrize("owner", ["medium", "water"])
def test_dissolved_solids_are_held_against_the_ec(post, owner, solids, doubted):
    solution = {"ec": 1.0, "total_dissolved_solids": solids, "ions": {"sodium": 200}}
    answer = post("/v1/ions", {owner: solution})
    assert answer["ions"][owner]["solids_per_ec"]["value"] == pytest.approx(solids, rel=5e-5)
    found = warnings(answer).get("solids_do_not_fit_ec")
    assert (found is not None) == doubted
    if found:
        assert found["field"] == f"/{owner}/total_dissolved_solids"


def test_osmotic_potential_goes_by_the_ions_where_they_are_known(post):
    def osmotic(**medium):
        answer = post("/v1/assessments", {"medium": {"extraction": "press"} | medium})
        return answer["salinity"]["osmotic_potential"], answer["salinity"]["osmotic_basis"]

    gypsum, basis = osmotic(ec=2.2, ions=meq({"calcium": 30, "sulfate_s": 30}))
    assert basis == "ions"
    assert gypsum["value"] == pytest.approx(-51.5, rel=0.05)  # PHREEQC, pitzer.dat
    by_rule, basis = osmotic(ec=2.2)
    assert basis == "ec_rule"
    assert by_rule["value"] == pytest.approx(-0.36 * 101.325 * 2.2, rel=1e-3)
    assert by_rule["low"] < by_rule["value"] < by_rule["high"] < 0
    assert osmotic(ec=2.2, ions=meq({"calcium": 30}))[1] == "ec_rule"
