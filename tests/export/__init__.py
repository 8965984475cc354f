"""Tests of the calendar files and of what is remembered between them."""
