"""What marshmallow says of a fault, in the words of the catalogues."""

from __future__ import annotations

import re
from collections.abc import Mapping

from saltcalc.words.catalogue import sentence

_SAID: Mapping[str, str] = {
    "required": r"Missing data for required field\.",
    "null": r"Field may not be null\.",
    "unknown": r"Unknown field\.",
    "no_text": r"Not a valid (?:utf-8 )?string\.",
    "no_whole_number": r"Not a valid integer\.",
    "no_flag": r"Not a valid boolean\.",
    "no_list": r"Not a valid list\.",
    "no_day": r"Not a valid date\.",
    "no_object": r"Invalid (?:input )?type\.",
    "too_long": r"Longer than maximum length (?P<most>\d+)\.",
    "too_short": r"Shorter than minimum length (?P<least>\d+)\.",
    "length": r"Length must be between (?P<least>\d+) and (?P<most>\d+)\.",
    "range": r"Must be greater than or equal to (?P<least>\S+) and less than or equal to "
    r"(?P<most>\S+)\.",
    "one_of": r"Must be one of: (?P<choices>.+)\.",
}
"""By the end of the id of the sentence, how the library says it."""

_PATTERNS = {name: re.compile(said, re.DOTALL) for name, said in _SAID.items()}


def in_own_words(said: str) -> str:
    """Return the sentence for what the library said; anything else as it is."""
    for name, pattern in _PATTERNS.items():
        if found := pattern.fullmatch(said):
            return sentence(f"library.{name}", **found.groupdict())
    return said
