"""The flush: what it starts from, how much water it takes, what it costs, and the ways out."""
