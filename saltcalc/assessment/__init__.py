"""Composes the science into arrays of results, one row per sample, container and crop."""
