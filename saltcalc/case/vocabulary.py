"""The few fixed vocabularies that requests and answers share, in the order of their codes."""

from saltcalc.science.tolerance import Stage

STAGES = tuple(stage.name.lower() for stage in Stage)
DRAINAGE = ("open", "sealed")
MICRONUTRIENT_EXTRACTS = ("water", "dtpa")
