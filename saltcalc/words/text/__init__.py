"""An answer in words: short, for whoever is at the pots, or in full."""

from saltcalc.words.text.full import (
    block,
    figure,
    full,
    name_of_assumption,
    taken,
    workings,
)
from saltcalc.words.text.layout import as_markdown, as_text
from saltcalc.words.text.results import own_over_range
from saltcalc.words.text.short import Sheet, behind, short

__all__ = [
    "Sheet",
    "as_markdown",
    "as_text",
    "behind",
    "block",
    "figure",
    "full",
    "name_of_assumption",
    "own_over_range",
    "short",
    "taken",
    "workings",
]
