"""Nutrients and pH: status against published ranges, nitrogen supply, and what usually helps."""
