"""Figures as people write them: the short way of plain ones, and the long way of all others."""

import re

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from saltcalc import notation
from saltcalc.notation import NotationError, read_figure

NUMBERS = st.from_regex(r"\A(0|[1-9][0-9]{0,5}|00[0-9])(\.[0-9]{1,4})?\Z")
SPELT = [
    "dS/m",
    "µS/cm",
    "mg/L",
    "ec",
    "EC",
    "pH",
    "ppmTDS",
    "tss",
    "dS/mEC",
    "e",
    "cf",
    "to",
    "at",
]
SPELT += [
    "C",
    "HH",
    "old",
    "gal",
    "inches",
    "ft",
    "mS",
    "low",
    "nd",
    "dL",
    "ppm",
    "und",
    "H",
    "m/ec",
]


def read(text, usual):
    try:
        return read_figure(text, lambda number, unit: number < usual)
    except NotationError as error:
        return str(error), error.message


@given(
    number=NUMBERS,
    gap=st.sampled_from(["", " ", "  "]),
    unit=st.one_of(st.sampled_from(SPELT), st.text("emgLCSpPhHtTdDsSµ/%.²-½ ", max_size=7)),
    usual=st.sampled_from([0, 50, 1e9]),
)
@example(number="1.400", gap=" ", unit="mS/cm", usual=50)
def test_a_plain_figure_is_read_as_any_other(number, gap, unit, usual):
    text = f"{number}{gap}{unit}"
    with pytest.MonkeyPatch.context() as patch:
        short = read(text, usual)
        patch.setattr(notation, "_PLAIN", re.compile("(?!)"))
        assert short == read(text, usual)


@pytest.mark.parametrize("text", ["1400 µS/cm", "0.5", "3L", "12 mg/L", "1.400 dS/m"])
def test_what_is_plain_goes_the_short_way(text):
    assert notation._PLAIN.fullmatch(text)


@pytest.mark.parametrize(
    "text", ["5 EC", "2 dS/mEC", "500 ppmTDS", "1½ gal", "3 US gal", "-1", "1e3"]
)
def test_what_is_not_goes_the_long_one(text):
    assert not notation._PLAIN.fullmatch(text)
