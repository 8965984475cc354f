"""A grower who lives by the plan for whole years: asks each morning, acts on what is told, and keeps a book of it."""
