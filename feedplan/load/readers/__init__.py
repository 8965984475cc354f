"""Readers for a grower's words: days, measures, rates."""
