"""The HTTP service."""

from saltcalc.service.app import create_app

__all__ = ["create_app"]
