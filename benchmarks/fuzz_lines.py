"""How the batch's lines and tables are sent: as the texts that they are."""

from typing import Any

import schemathesis

BATCH = "/v1/assessments/batch"


@schemathesis.serializer("application/x-ndjson", "text/csv")
def as_text(_ctx: Any, value: Any) -> bytes:
    """Return a text as it is sent."""
    return str(value).encode("utf-8", "surrogatepass")


@schemathesis.hook
def filter_body(ctx: Any, body: Any) -> bool:
    """Tell whether a body can be sent as what it is: any other would be a text once it is sent."""
    return ctx.operation.path != BATCH or isinstance(body, str)
