"""All that a person reads, in one place and one style: another language is one more set of these words."""
