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
    """Return a message; its sentence stands in the catalogues of ``words``."""
    return Message(message, told)
