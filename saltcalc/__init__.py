"""Salinity of container media: is it salt, which salt, how far, and how to take it down."""

__version__ = "0.1.0"
