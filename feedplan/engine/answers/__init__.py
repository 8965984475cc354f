"""Questions put to a season: why, what changed, what is doubtful, what to ask, what sightings teach, how a year was."""
