"""What one row takes from another, or from what its note says, it has as it was taken."""

import math
import re

import pytest

from saltcalc.data.reported_ions import molar_mass
from tests.data.test_figures_hold_together import rows_of
from tests.published.test_substrate import CLASS_AVERAGES
from tests.sentences import sentences


def conductivity(soil):
    """Return the average conductivity of a class of soil [mm/h]."""
    return 10 ** CLASS_AVERAGES[soil][4] * 10 / 24


def test_soil_takes_in_water_as_its_class_conducts_it():
    seen = 0
    for row in rows_of("intake_rates"):
        soil, note = row["medium"], row["note"]
        rates = {name: float(row[name]) for name in ("rate", "rate_low", "rate_high")}
        if row["source"] == "schaap_2001":
            assert rates["rate"] == pytest.approx(conductivity(soil), rel=0.02), soil
        for end in ("low", "high"):
            if re.search(rf"{end}est (is )?a class average of conductivity \(schaap_2001\)", note):
                assert rates[f"rate_{end}"] == pytest.approx(conductivity(soil), rel=0.02), soil
                seen += 1
        if "lowest half" in note:
            assert rates["rate_low"] == pytest.approx(rates["rate"] / 2, rel=0.03), soil
        if "highest twice" in note:
            assert rates["rate_high"] == pytest.approx(2 * rates["rate"], rel=0.03), soil
    assert seen >= 2
    # Carsel & Parrish (1988), from memory: 712.8 and 10.8 cm a day.
    found = {row["medium"]: row for row in rows_of("intake_rates")}
    assert float(found["sand"]["rate_high"]) == pytest.approx(7128 / 24, rel=0.02)
    assert float(found["silt_loam"]["rate_low"]) == pytest.approx(108 / 24, rel=0.02)


def test_the_worse_a_soil_conducts_the_slower_it_takes_in_water():
    rates = {row["medium"]: float(row["rate"]) for row in rows_of("intake_rates")}
    coarse = [rates[soil] for soil in ("loam", "sandy_loam", "loamy_sand", "sand")]
    assert coarse == sorted(coarse)
    assert rates["clay"] == min(rates.values())


def test_a_conversion_that_leans_on_a_class_table_has_its_limits():
    """The limits of two methods that part the same classes stand for each other."""
    limits = {}
    for row in rows_of("ec_classes"):
        limits.setdefault((row["source"], row["method"]), []).append(float(row["lower"]))
    seen = 0
    for row in rows_of("ec_conversions"):
        points = [tuple(map(float, each.split(":"))) for each in row["points"].split()]
        # What is lent to mineral soil is the table of the university.
        source = "umass_media" if "lent" in row["applies_to"] else row["source"]
        for at, method in enumerate((row["method"], "saturated_media_extract")):
            known = limits.get((source, method))
            if points and known:
                assert [point[at] for point in points] == known[1:], (row["id"], method)
                seen += 1
    assert seen >= 7


def test_one_source_has_one_scatter_and_what_is_lent_has_twice_as_much():
    """A judgement; of the soils of Hogg & Henry a coarse one scatters more than a fine one."""
    scatter = {}
    for row in rows_of("ec_conversions"):
        rows = scatter.setdefault((row["source"], row["method"]), {})
        rows[row["id"]] = float(row["scatter"])
    of_soils = scatter.pop(("hogg_henry_1984", "one_to_two"))
    coarse, middle, fine = (of_soils[f"one_to_two_{soil}"] for soil in ("sandy", "loamy", "clayey"))
    assert coarse - middle == pytest.approx(middle - fine)
    for key, rows in scatter.items():
        assert len(set(rows.values())) == 1, (key, rows)
    one = scatter["umass_media", "one_to_two"]["one_to_two_six_class"]
    assert fine == one
    assert {each for (source, _), rows in scatter.items() for each in rows.values()
            if source in {"umass_media", "lang_1996", "ho_237"}} == {one}  # fmt: skip
    assert {float(row["scatter"]) for row in rows_of("ec_conversions")
            if "lent" in row["applies_to"]} == {2 * one}  # fmt: skip


def test_regressions_of_one_kind_of_soil_agree():
    """Of Australian clays five were published: their slopes lie within a tenth of each other."""
    rows = [row for row in rows_of("ec_conversions") if row["source"] == "scma_14b1"]
    slopes = [float(row["slope"]) for row in rows]
    assert len(rows) == 5
    assert max(slopes) < 1.1 * min(slopes)
    # Water without salt reads nothing, or less than the line says.
    assert all(-1.0 < float(row["intercept"]) <= 0 for row in rows)


def test_one_to_five_thins_a_coarse_soil_most():
    """By Sonmez and others, and through the origin: what a paste of sand holds is little."""
    lines = {row["id"]: (float(row["slope"]), float(row["intercept"]))
             for row in rows_of("ec_conversions") if row["slope"]}  # fmt: skip
    sandy, loamy, clayey = (
        lines[f"one_to_five_sonmez_{soil}"] for soil in ("sandy", "loamy", "clayey")
    )
    assert sandy[0] > loamy[0] > clayey[0] > 0.88 * sandy[0]
    assert max(abs(intercept) for _, intercept in (sandy, loamy, clayey)) < 0.4
    # Slavich & Petterson's factor of loam and medium clay, and what was found in tideland between.
    assert lines["one_to_five_medium_clay"][0] <= lines["one_to_five_tideland"][0]
    assert lines["one_to_five_tideland"][0] < lines["one_to_five_loam"][0]


def test_growth_is_that_of_a_day_seven_times():
    """And what a note says of a row: shares of another crop, the middle of the ends."""
    figures = {(row["crops"].split(";")[0], row["quantity"]): row for row in rows_of("crop_growth")}
    ends = {
        "lettuce": (0.11, 0.35),
        "tomato": (0.10, 0.25),
        # mg a gram a day
        "bean": (0.048, 0.073),
    }
    growth = {}
    for crop in ("lettuce", "tomato", "bean", "beet_red"):
        row = figures[crop, "growth"]
        low, value, high = growth[crop] = [float(row[name]) for name in ("low", "value", "high")]
        assert value == pytest.approx(math.sqrt(low * high), rel=0.03), crop
    for crop, (low, high) in ends.items():
        assert (growth[crop][0], growth[crop][2]) == pytest.approx((7 * low, 7 * high), rel=0.02)
    # Brewster (2008): relative growth of beet and lettuce, 1.34 and 1.91 times that of onion.
    of_lettuce = [1.34 / 1.91 * each for each in growth["lettuce"]]
    assert growth["beet_red"] == pytest.approx(of_lettuce, rel=0.02)


@pytest.mark.parametrize("crop", ["lettuce", "tomato", "bean", "beet_red"])
def test_tissue_nitrogen_lies_midway_between_its_ends(crop):
    (row,) = (row for row in rows_of("crop_growth")
              if crop in row["crops"].split(";") and row["quantity"] == "tissue_n")  # fmt: skip
    low, value, high = (float(row[name]) for name in ("low", "value", "high"))
    assert value == pytest.approx((low + high) / 2, rel=0.02)


@pytest.mark.parametrize(
    ("crop", "least", "most"),
    # Grams of a thousand seeds, common practice without one source.
    [("lettuce", 0.8, 1.4), ("tomato", 2.5, 4.0), ("bean", 150, 400)],
)
def test_a_seedling_weighs_about_what_its_seed_weighs(crop, least, most):
    (row,) = (row for row in rows_of("crop_growth")
              if crop in row["crops"] and row["quantity"] == "emergence_mass")  # fmt: skip
    low, value, high = (float(row[name]) * 1000 for name in ("low", "value", "high"))
    assert low <= least < value < most <= high


def test_ions_of_one_charge_come_as_near_as_each_other():
    """Fitted together: sodium, potassium, ammonium and chloride; the larger charge keeps off."""
    radius = {row["species"]: float(row["radius"]) for row in rows_of("contact_radius")}
    assert len({radius[each] for each in ("Na+", "K+", "NH4+", "Cl-")}) == 1
    for row in rows_of("contact_radius"):
        if fit := re.match(r"fit (\d\.\d+)", row["note"]):
            assert radius[row["species"]] == pytest.approx(float(fit[1]), rel=0.1)
    # Magnesium holds its water harder than calcium (from memory: hydrated 4.28 and 4.12 Å).
    assert radius["Na+"] < radius["Ca+2"] < radius["Mg+2"] < radius["SO4-2"]


def test_media_of_one_class_are_lent_one_shape():
    """Where only a container capacity is published: what stays, and the slope of the curve."""
    shapes = {}
    for row in rows_of("substrates"):
        if row["basis"] == "container_capacity" and row["medium_class"] != "mineral":
            shape = float(row["theta_r"]), float(row["n"])
            shapes.setdefault(row["medium_class"], set()).add(shape)
    assert all(len(each) == 1 for each in shapes.values()), shapes
    shape = {name: each for name, (each,) in shapes.items()}
    # Coarse particles drain at a blow, those of a compost by and by; fibres hold least for good.
    by_slope = sorted(shape, key=lambda name: shape[name][1])
    assert by_slope[0] == "compost"
    assert by_slope[-1] == "bark"
    assert min(shape.values())[0] == shape["peat"][0]


def test_shares_of_what_solutions_usually_hold_make_up_a_charge():
    """Of each sign; some of the negative charge of media and waters is of other ions."""
    cations = {"calcium", "magnesium", "potassium", "sodium", "ammonium_n"}
    total = {}
    for row in rows_of("usual_shares"):
        key = row["solution"], row["ion"] in cations
        total[key] = total.get(key, 0.0) + float(row["share"])
    assert total["medium", True] == pytest.approx(1.0, abs=0.008)
    assert total["water", True] == pytest.approx(1.0, abs=0.02)
    for solution in ("medium", "water"):
        assert 0.92 < total[solution, False] < 0.98


def test_retention_that_a_note_works_out():
    held = {row["nutrient"]: float(row["sorbed_ratio"]) for row in rows_of("nutrient_retention")}
    # A third of ammonium sits on the medium: one part there beside two in the water.
    assert held["ammonium_n"] == pytest.approx((1 / 3) / (2 / 3))
    assert held["calcium"] == held["magnesium"]
    assert held["potassium"] < held["ammonium_n"] < held["calcium"] < held["phosphorus"]
    ions = {(row["medium_class"], row["ion"]): row for row in rows_of("ion_retention")}
    for ion in ("potassium", "sodium"):
        low, middle, high = (
            float(ions["coir", ion][f"sorbed_ratio{end}"]) for end in ("_low", "", "_high")
        )
        assert middle == 1.0
        assert (low, high) == pytest.approx((0.3, 3.0), rel=0.12)
        assert low * high == pytest.approx(0.9)


def test_spreads_of_the_washout_are_judged_alike():
    """The exchange and what is held within a factor of three, where no curve says more or less."""
    rows = {row["medium_class"]: row for row in rows_of("washout_defaults")}

    def figures(medium_class, name):
        return tuple(float(rows[medium_class][f"{name}{end}"]) for end in ("_low", "", "_high"))

    names = ("efficiency", "immobile_water_fraction", "mass_transfer_coefficient", "sorbed_ratio")
    assert rows.keys() == {"peat", "bark", "coir", "compost", "mineral", "mix"}
    for medium_class in rows.keys() - {"mineral"}:
        low, middle, high = figures(medium_class, "mass_transfer_coefficient")
        assert (low, high) == pytest.approx((middle / 3, middle * 3), rel=0.11), medium_class
    for medium_class in rows.keys() - {"compost"}:
        low, middle, high = figures(medium_class, "sorbed_ratio")
        assert high == pytest.approx(3 * middle, rel=0.03), medium_class
        assert low == pytest.approx(0.36 * middle, rel=0.2), medium_class
    # Coir drains like peat, and holds more; a mix lies between what it is made of.
    for name in names[:3]:
        assert figures("coir", name) == figures("peat", name)
    for name in names:
        of_parts = [figures(part, name) for part in ("peat", "bark", "compost")]
        for at, figure in enumerate(figures("mix", name)):
            ends = [part[at] for part in of_parts]
            assert min(ends) <= figure <= max(ends), name


def test_fertilizers_hold_the_nitrogen_of_their_formula():
    """The grades of the trade are a little less pure; an organic one is named by its nitrogen."""
    shares = {row["id"]: float(row["nitrogen_share"]) for row in rows_of("nitrogen_sources")}
    nitrogen = molar_mass("N")
    # 5 Ca(NO3)2 · NH4NO3 · 10 H2O, as it is granulated.
    calcium_nitrate = molar_mass("Ca5(NO3)10NH4NO3(H2O)10")
    assert shares.pop("calcium_nitrate") == pytest.approx(12 * nitrogen / calcium_nitrate, rel=0.01)
    pure = nitrogen / molar_mass("KNO3")
    assert 0.92 * pure < shares.pop("potassium_nitrate") < pure
    for name, share in shares.items():
        assert share == int(name.split("_")[1]) / 100


def test_a_limit_of_exchangeable_sodium_is_the_last_that_its_note_gives():
    """Sys and others (1993) print the ends of suitable, moderately and marginally suitable."""
    seen = 0
    for row in rows_of("crop_sodium"):
        said = sentences().get(f"crop_sodium.note.{row['note_id']}", "")
        if ends := re.search(r"suitable to (\d+), moderately to (\d+), marginally to (\d+)", said):
            suitable, moderately, marginally = map(int, ends.groups())
            assert suitable < moderately < marginally == float(row["esp_limit"]), row["note_id"]
            seen += 1
    assert seen >= 6


LENDERS = {
    "KH2PO4": ("potassium", "phosphorus"),
    "KHCO3": ("potassium", "bicarbonate"),
    "Mg(HCO3)2": ("magnesium", "bicarbonate"),
    "Ca(HCO3)2": ("calcium", "bicarbonate"),
}


def test_an_ion_pair_that_is_lent_has_the_figures_of_its_lender():
    rows = {(row["cation"], row["anion"]): row for row in rows_of("pitzer")}
    names = ("beta0", "beta1", "beta2", "c_phi")
    figures = {pair: [row[name] for name in names] for pair, row in rows.items()}
    lent = {pair: row["note"].removeprefix("lent by ") for pair, row in rows.items()
            if row["note"].startswith("lent by")}  # fmt: skip
    assert set(lent.values()) == LENDERS.keys()
    for pair, lender in lent.items():
        assert figures[pair] == figures[LENDERS[lender]], pair
