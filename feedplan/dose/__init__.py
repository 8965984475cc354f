"""Dilution arithmetic: what a grower writes, what goes into the can, and what is then in the feed.

Import from the modules: `measures`, `grade` and `strength` read what is written, `arithmetic` works out a dose and the
stock it may go through, `mix` chooses products for a ratio, `conductivity` says what a pen should show, `salts`
knows what dissolves and what may stand together, `release` how solid feed comes free. Nothing is imported here, so that
a command that needs one of them starts at once. Sentences are in feedplan/words/dose.py.
"""
