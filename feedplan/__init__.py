"""feedplan: dated feeding and watering plans for trees in containers."""
