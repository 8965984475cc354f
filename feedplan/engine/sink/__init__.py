"""The sink and the shelf: what goes into the can, what a pen should show, what to buy."""
