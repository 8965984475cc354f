"""Questions put to a season: why, what changed, what is doubtful, what to ask the grower, how a year was."""
