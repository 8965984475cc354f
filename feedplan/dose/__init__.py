"""Dilution arithmetic: what a grower writes, what goes into the can, and what is then in the feed.

Import from the modules: `measures` and `strength` read what is written, `grade` knows labels, `arithmetic` works out
a mix, `stock` goes through a stronger solution, `wording` says it. Nothing is imported here, so that a command that
needs one of them starts at once.
"""
