"""The media of a trial as they were told: their names, and how each crop fared."""

from __future__ import annotations

from dataclasses import dataclass

from saltcalc.case.trial import Outcome
from saltcalc.message import Message, say

_QUOTES = '"“”„«»'


@dataclass(frozen=True)
class Tried:
    """One medium of a trial.

    Attributes
    ----------
    name : str
        As it was called.
    samples : tuple of int
        Its samples of the batch: two where its nitrogen is all nitrate or all ammonium.
    outcomes : tuple of Outcome
        How each crop fared.
    has_containers : bool
        Whether it has containers of its own; else those of the request are meant.
    """

    name: str
    samples: tuple[int, ...]
    outcomes: tuple[Outcome, ...]
    has_containers: bool

    def of(self, crop: str) -> Outcome | None:
        """Return how a crop fared."""
        return next((each for each in self.outcomes if each.crop == crop), None)

    @property
    def failed(self) -> list[str]:
        """Crops that it did not bear."""
        return [each.crop for each in self.outcomes if not each.good]

    @property
    def plants_stand(self) -> bool:
        """Whether any crop is alive in it, or none was told of."""
        alive = [each for each in self.outcomes if each.outcome != "died"]
        return bool(alive) or not self.outcomes

    @property
    def called(self) -> str | Message:
        """The name as it is in a sentence."""
        return called(self.name)


def called(name: str) -> str | Message:
    """Return a name as it is in a sentence: in quotes where it holds a mark of its own."""
    plain = " ".join(name.split())
    if not set(plain) & {*",;:|", *_QUOTES}:
        return plain
    return say("trial.quoted_again" if set(plain) & {*_QUOTES[1:]} else "trial.quoted", name=plain)
