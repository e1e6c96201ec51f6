"""How figures are written inside a sentence."""

from math import nan

import pytest

from saltcalc.message import say
from saltcalc.parts.shown import Amount
from saltcalc.words.catalogue import words


def _in_words(sentence, **told):
    return words().fill(sentence, told)


@pytest.mark.parametrize(
    ("amount", "written"),
    [
        (Amount(2.345, "dS/m"), "2.35 dS/m"),
        (Amount(2.3, "dS/m", 2.0, 3.0), "2 to 3 dS/m"),
        (Amount(2.0, "dS/m", 2.001, 2.002), "2 dS/m"),
        (Amount(1.8, "mg/L", 1.084, 2.891), "1.1 to 2.9 mg/L"),
        (Amount(600.0, "mg/L", 253.0, 2000.0), "250 to 2000 mg/L"),
        (Amount(6.52, "1", 6.45, 6.58), "6.45 to 6.58"),
        (Amount(2.0, "dS/m", nan, 2.0), "at most 2 dS/m"),
        (Amount(2.0, "dS/m", 2.0, nan), "at least 2 dS/m"),
        (Amount(45.6, "%"), "46 %"),
        (Amount(1234.0, "mg/L"), "1200 mg/L"),
        (Amount(13.0, "(mmol/L)^0.5"), "13"),
        (Amount(1.5, "1"), "1.5"),
    ],
)
def test_an_amount_is_written_with_its_unit_and_its_ends(amount, written):
    assert _in_words("The figure is {value}.", value=amount) == f"The figure is {written}."


@pytest.mark.parametrize(
    ("count", "written"),
    [(1.0, "1 week"), (0.4, "0.4 weeks"), (1.5, "1.5 weeks"), (12, "12 weeks")],
)
def test_only_one_is_single(count, written):
    assert words().say(say("nutrients.weeks", count=count)) == written


@pytest.mark.parametrize(
    ("names", "written"),
    [([], ""), (["a"], "a"), (["a", "b"], "a and b"), (["a", "b", "c"], "a, b and c")],
)
def test_names_are_listed(names, written):
    assert _in_words("{names:and}", names=names) == written


@pytest.mark.parametrize(
    ("sentence", "metric", "us"),
    [
        ("{volume:volume}", "11 L", "3 gal"),
        ("{small:volume}", "30 mL", "1 fl oz"),
        ("{volume:2 in L} to {volume:2 L}", "11 to 11 L", "3 to 3 gal"),
        ("{height:3 cm}", "25.4 cm", "10 in"),
        ("above {15:2 °C}", "above 15 °C", "above 59 °F"),
        ("{amount}", "at least 20 °C", "at least 68 °F"),
        ("{ec} dS/m", "1.2 dS/m", "1.2 dS/m"),
    ],
)
def test_a_figure_is_told_in_the_units_of_the_reader(sentence, metric, us):
    told = {"volume": 11.356, "small": 0.03, "height": 25.4, "ec": 1.2}
    amount = Amount(20.0, "°C", 20.0, nan)
    for units, written in (("metric", metric), ("us", us)):
        assert words("en", units).fill(sentence, {**told, "amount": amount}) == written
