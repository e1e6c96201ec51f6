"""Marshmallow schemas: what comes in, and what goes out."""
