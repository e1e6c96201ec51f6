"""A sentence by its id: what every room can say without a word of any language."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Message:
    """A sentence by its id, with the figures, names and messages that it tells."""

    id: str
    told: Mapping[str, Any]


def say(message: str, /, **told: Any) -> Message:
    """Return a message; its sentence is in the catalogues of ``words``."""
    return Message(message, told)


class Title(str):
    """A name as English has it, with the id by which other languages have theirs."""

    __slots__ = ("id",)

    id: str

    def __new__(cls, name: str, message: str) -> Title:
        """Take the English name and the id."""
        made = super().__new__(cls, name)
        made.id = message
        return made

    def __reduce__(self) -> tuple[type[Title], tuple[str, str]]:
        """Return what a copy is made of."""
        return Title, (str(self), self.id)
