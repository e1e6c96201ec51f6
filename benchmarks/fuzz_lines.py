"""How the batch's lines are sent: as the text that they are."""

from typing import Any

import schemathesis


@schemathesis.serializer("application/x-ndjson")
def as_lines(_ctx: Any, value: Any) -> bytes:
    """Return a text as it is sent."""
    return str(value).encode()
