"""Why seedlings stall: every cause weighed by its evidence, and what to measure next."""
