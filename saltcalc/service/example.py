"""The invented request of the demonstration: tubs in a polytunnel on a tidal estuary."""

from pathlib import Path

_NAME = "polytunnel_request.json"
_INSTALLED = Path(__file__).parents[1] / _NAME
DEMO_REQUEST = _INSTALLED if _INSTALLED.exists() else Path(__file__).parents[2] / "fixtures" / _NAME
