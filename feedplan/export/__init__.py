"""From a season to what the grower reads: calendar entries, calendar files, text."""
