"""From a file's text to plain values that know their place."""
