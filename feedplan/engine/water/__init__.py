"""Water: how fast pots dry, how often to look, which water, when to flush."""
