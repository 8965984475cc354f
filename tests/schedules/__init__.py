"""Checks of the shipped schedules, holds and words."""
