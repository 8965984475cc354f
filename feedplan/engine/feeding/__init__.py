"""Feeds: when each is due, what stands in the way, how strong, liquid and solid, within the budget."""
