"""A crop's name as it is compared: without case, accents, hyphens and plural endings."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from functools import lru_cache

SUBSCRIPTS = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789")
SUPERSCRIPTS = str.maketrans("⁻⁺¹²³⁴", "-+1234")
"""What a formula or a unit has in small print, and how it is written without."""

_LETTERS = str.maketrans({"œ": "oe", "æ": "ae", "ø": "o", "’": "'", "‘": "'", "´": "'", "×": "x"})
_POSSESSIVE = re.compile(r"['`](?=s\b)|(?<=s)['`](?=\s|$)")
_WORD = re.compile(r"[a-z0-9]+")

_ENGLISH = {
    "leaves": "leaf",
    "coloured": "colored",
    "colour": "color",
    "fibre": "fiber",
    "grey": "gray",
    "parlour": "parlor",
    "savoury": "savory",
}
_BOTANICAL_RANKS = {"cv", "f", "group", "sp", "spp", "ssp", "subsp", "var", "x"}
_DUTCH_DIMINUTIVE = re.compile(r"[tpk]?jes?$")
_DUTCH_PLURAL = re.compile(r"(?:(?<=[^aeou])en|s)$")
_TWICE_VOWEL = re.compile(r"([aeou])\1")
_TWICE_CONSONANT = re.compile(r"([b-df-hj-np-tv-z])\1$")


def plain(text: str) -> str:
    """Return a name in small letters, without accents, and with one blank between its words.

    An apostrophe before a final s goes ("lamb's" is "lambs"); any other parts two words.
    """
    text = text.casefold()
    if not text.isascii():
        text = unicodedata.normalize("NFKD", text.translate(_LETTERS))
        text = text.encode("ascii", "ignore").decode()
    if text.isalpha():
        return text
    return " ".join(_WORD.findall(_POSSESSIVE.sub("", text)))


def _without(word: str, *endings: str) -> str:
    """Take off the first of these endings that the word has."""
    for ending in endings:
        if word.endswith(ending):
            return word.removesuffix(ending)
    return word


def _english(word: str) -> str:
    word = _ENGLISH.get(word, word)
    if len(word) < 4:
        return word
    if word.endswith(("uses", "ises")):
        word = word[:-2]
    if word.endswith(("oes", "ches", "shes", "xes", "sses")):
        word = word[:-2]
    elif word.endswith("s"):
        word = word[:-1]
    return _without(word, "y", "ie") + "i" if word.endswith(("y", "ie")) else word


def _german(word: str) -> str:
    word = word.replace("ae", "a").replace("oe", "o").replace("ue", "u")
    if len(word) < 4:
        return word
    if not word.endswith("ss"):
        word = _without(word, "en", "er", "es", "e", "n", "s")
    return word.removesuffix("ss")


def _french(word: str) -> str:
    return _without(word, "s", "x") if len(word) > 3 else word


def _spanish(word: str) -> str:
    if len(word) < 4:
        return word
    word = _without(word, "es", "s", "e")
    return word[:-1] + "z" if word.endswith("c") else word


def _italian(word: str) -> str:
    if len(word) < 4:
        return word
    return (word[:2] + word[2:].rstrip("aeio")).removesuffix("h")


def _dutch(word: str) -> str:
    if len(word) < 4:
        return word
    if len(word) > 5:
        word = _DUTCH_DIMINUTIVE.sub("", word)
    word = _DUTCH_PLURAL.sub("", word)
    word = _TWICE_CONSONANT.sub(r"\1", _TWICE_VOWEL.sub(r"\1", word))
    word = _without(word, "z", "s").removesuffix("e")
    if word.endswith("v"):
        word = word[:-1] + "f"
    return word.removesuffix("t") if len(word) > 3 else word


def _latin(word: str) -> str:
    return "" if word in _BOTANICAL_RANKS else word


_STEMS: dict[str, Callable[[str], str]] = {
    "en": _english,
    "de": _german,
    "fr": _french,
    "es": _spanish,
    "it": _italian,
    "nl": _dutch,
    "la": _latin,
}


@lru_cache(maxsize=1 << 14)
def stem(key: str, language: str) -> str:
    """Return a `plain` name without the endings of the plural, by simple rules of the language.

    The result is no word: it only equals that of the singular. English spellings become American,
    German ae, oe and ue become a, o and u, and botanical ranks go.
    """
    stem_of = _STEMS[language]
    return " ".join([each for word in key.split() if (each := stem_of(word))])
