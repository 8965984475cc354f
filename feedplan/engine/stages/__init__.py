"""Growth stages: typical dates, what the weather says, what was seen."""
