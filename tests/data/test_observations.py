import pytest

from saltcalc.data.observations import exclusive_pairs, observations, opposites
from saltcalc.data.sources import bibliography
from tests.sentences import sentences


def test_each_sign_says_how_to_see_it_and_what_it_hints_at():
    for sign in observations():
        description = sentences()[f"observations.description.{sign}"]
        hints_at = sentences()[f"observations.hints_at.{sign}"]
        assert description.endswith(".")
        assert hints_at.endswith(".")
        assert description != hints_at


def test_each_sign_has_a_source_of_the_right_kind():
    for sign in observations().values():
        kind = bibliography()[sign.source].kind
        assert (kind == "common_practice") == (sign.provenance == "common_practice")


def test_the_table_cannot_be_changed_by_a_caller():
    with pytest.raises(TypeError):
        observations()["white_crust_when_dry"] = None  # type: ignore[index]


def test_what_excludes_each_other_is_named_once():
    pairs = exclusive_pairs()
    assert len({frozenset(pair) for pair in pairs}) == len(pairs)
    assert set(opposites()) < set(pairs)
    assert ("stays_wet", "dries_within_days") in pairs
    assert ("another_crop_thrives", "every_crop_stalls") in pairs
    assert ("rotted_roots", "firm_white_roots") not in pairs  # of one root ball
