"""Physics of water and of warmth for trees in pots: pure functions over numbers, without files, clock or network."""
