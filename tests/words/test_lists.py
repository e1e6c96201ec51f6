"""Lists as a language says them."""

import pytest

from saltcalc.words.catalogue import words


@pytest.mark.parametrize(
    ("names", "form", "said"),
    [
        (("calcio", "hierro"), "and", "calcio y hierro"),
        (("sodio", "iones"), "and", "sodio y iones"),
        (("turba", "hinojo"), "and", "turba e hinojo"),
        (("a", "b", "Iris"), "and", "a, b e Iris"),
        (("uno", "otro"), "or", "uno u otro"),
        (("7", "8"), "or", "7 u 8"),
        (("10", "11"), "or", "10 u 11"),
        (("10", "110"), "or", "10 o 110"),
        (("hoja", "raíz"), "or", "hoja o raíz"),
    ],
)
def test_spanish_lists_by_sound(names, form, said):
    assert words("es").fill(f"{{names:{form}}}", {"names": names}) == said
    assert " e " not in words("de").fill("{names:and}", {"names": names})


def test_other_languages_keep_their_words():
    assert words("en").fill("{names:and}", {"names": ("peat", "iron")}) == "peat and iron"
