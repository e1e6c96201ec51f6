"""The few fixed vocabularies that requests and answers share, in the order of their codes."""

from saltcalc.science.tolerance import Stage

STAGES = tuple(stage.name.lower() for stage in Stage)
DRAINAGE = ("open", "sealed")
MICRONUTRIENT_EXTRACTS = ("water", "dtpa")
FEEDINGS = ("liquid_feed", "coated_fertilizer", "coated_and_liquid", "organic", "none")
"""How a crop is fed: ranges of nutrients differ with it."""
