"""The few fixed vocabularies that requests and answers share, in the order of their codes."""

from saltcalc.science.crop_limits import Stage

STAGES = tuple(stage.name.lower() for stage in Stage)
DRAINAGE = ("open", "sealed")
MICRONUTRIENT_EXTRACTS = ("water", "dtpa")
FEEDINGS = ("liquid_feed", "coated_fertilizer", "coated_and_liquid", "organic", "none")
"""How a crop is fed: ranges of nutrients differ with it."""
MEANS = ("can", "hose", "dripper", "boom", "rain", "sprinkler")
"""What water is poured with."""
BY_HAND = ("can", "hose")
"""Those of them that take a person for every pouring."""
SALT_PROFILES = ("on_top", "even")
WETTING_AGENTS = ("none", "used")
