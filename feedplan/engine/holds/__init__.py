"""Holds: what opens one, what ends it, when to look."""
