"""The weather of one pass, as stages, gates, holds and checks ask for it."""
