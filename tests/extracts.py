"""Invented laboratory reports that several tests read; extracts as they are converted."""

from saltcalc.science.extraction import to_both_bases

NUTRIENT = {
    "calcium": 8.0,
    "magnesium": 5.0,
    "potassium": 3.5,
    "sodium": 2.5,
    "ammonium_n": 1.0,
    "nitrate_n": 10.0,
    "chloride": 2.5,
    "sulfate_s": 7.0,
    "phosphorus": 0.5,
}
"""A balanced extract [mmol_c/L]; its EC by PHREEQC is 2.09 dS/m."""


def to_saturated_extract(*arguments, **pores):
    saturated, _ = to_both_bases(*arguments, **pores)
    return saturated
