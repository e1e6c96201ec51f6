"""Crops: how they stand their media, against which limits, and which would stand them instead."""
