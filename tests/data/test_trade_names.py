"""The trade's words for methods, media, signs and stages; what each means comes from the trade."""

from pathlib import Path

import pytest

from saltcalc.case.vocabulary import DRAINAGE, STAGES
from saltcalc.data.extraction import method_codes
from saltcalc.data.observations import observations
from saltcalc.data.substrates import substrates
from saltcalc.data.trade_names import MOST_NEAR, meaning, trade_names
from saltcalc.data.washout import slow_releases

SETS = {
    "extraction": method_codes,
    "stage": lambda: STAGES,
    "substrate": substrates,
    "observations": observations,
    "drainage": lambda: DRAINAGE,
    "slow_release": slow_releases,
}

SAID = """
extraction: 1:2 v/v = one_to_two | 2:1 = one_to_two | 1-2 = one_to_two | 1+2 = one_to_two
extraction: 1:2 by volume = one_to_two | 1:1.5 = one_to_one_and_half | 1:5 = one_to_five
extraction: 1:1½ by volume = one_to_one_and_half | 1.5:1 = one_to_one_and_half
extraction: pour thru = pour_through | PourThru = pour_through | leachate = pour_through
extraction: drainage = pour_through | squeeze = press | Plug squeeze method = press
extraction: ECe = saturated_paste | SME = saturated_media_extract | slurry = one_to_two
extraction: suction cup = pore_water_sensor | saturated media extract = saturated_media_extract
stage: plug = seedling | young plant = seedling | transplant = seedling | cutting = seedling
stage: young = seedling | vegetative = established | flowering = established | seed = germination
stage: Jungpflanze = seedling | Seedlings = seedling
substrate: peat = sphagnum_peat | Torf = sphagnum_peat | coir = coir_dust | coco coir = coir_dust
substrate: bark = pine_bark | wood fibre = wood_chip_fine | mushroom compost = manure_compost
substrate: topsoil = loam | potting soil = general_potting_mix | worm castings = vermicompost
substrate: rockwool = general_potting_mix | rice hulls = general_potting_mix
observations: white crust = white_crust_when_dry | tip burn = marginal_burn
observations: water runs off = repels_water_after_drying | stunted = stalled_at_first_leaves
observations: yellow between veins = yellow_between_veins_young_leaves
observations: sown again and again = poor_emergence | fungus gnats = algae_or_fungus_gnats
observations: died at first true leaves = died_at_first_true_leaves | damping-off = {}
observations: Yellowing of the older leaves = yellow_older_leaves | White crusts = {}
drainage: yes = open | no holes = sealed | none = sealed | free-draining = open
slow_release: CRF = controlled_release_fertilizer | slow-release fertiliser = {}
""".format("stem_collapse_at_soil_line", "white_crust_when_dry", "controlled_release_fertilizer")


def _cases():
    for line in SAID.strip().splitlines():
        of, _, pairs = line.partition(": ")
        for pair in pairs.split(" | "):
            yield of, *pair.split(" = ")


@pytest.mark.parametrize(("of", "name", "means"), list(_cases()))
def test_the_trade_says_it_so(of, name, means):
    assert meaning(of, name, SETS[of](), {}).id == means


@pytest.mark.parametrize(
    ("of", "name", "why"),
    [
        ("extraction", "1:5 w/w", "by_weight"),
        ("extraction", "1:6", "other_ratio"),
        ("extraction", "CAT", "cat_extract"),
        ("extraction", "bulk EC", "bulk_ec"),
        ("substrate", "compost", "compost_of_which"),
    ],
)
def test_what_cannot_be_taken_is_refused_for_a_reason(of, name, why):
    sense = meaning(of, name, SETS[of](), {})
    assert (sense.id, sense.told.id) == (None, f"names.{why}")


@pytest.mark.parametrize(
    ("of", "name", "near"),
    [
        ("observations", "leaves look purplish at night", "purple_leaves"),
        ("observations", "cold feet", "cold_nights"),
        ("substrate", "peet", "sphagnum_peat"),
    ],
)
def test_what_is_not_understood_brings_at_most_three_near_ones(of, name, near):
    sense = meaning(of, name, SETS[of](), {})
    assert sense.id is None
    assert near in sense.near
    assert len(sense.near) <= MOST_NEAR


@pytest.mark.parametrize("of", SETS)
def test_every_name_means_one_of_its_set_and_finds_it(of):
    for name in trade_names()[of]:
        assert not name.means or name.means in SETS[of]()
        assert meaning(of, name.name, SETS[of](), {}).id == (name.means or None), name


def test_a_figure_is_never_a_slip():
    assert meaning("extraction", "1:3 dilution", method_codes(), {}).id is None


def _signs():
    for line in (Path(__file__).parent / "grower_signs.txt").read_text("utf-8").splitlines():
        if line and not line.startswith("#"):
            yield line.rsplit(" = ", 1)


@pytest.mark.parametrize(("said", "sign"), [*_signs()])
def test_a_sign_is_known_by_its_words(said, sign):
    assert meaning("observations", said, observations(), {}).id == (None if sign == "?" else sign)


@pytest.mark.parametrize("said", ["no white crust", "leaves without brown tips", "keine Kruste"])
def test_a_denied_sign_is_sent_to_what_was_not_seen(said):
    sense = meaning("observations", said, observations(), {})
    assert (sense.id, sense.told.id) == (None, "names.denied")
