"""Turns the arrays of an assessment into the answer a person or a program reads."""
