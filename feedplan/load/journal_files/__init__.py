"""The journal: its entries read, checked and added to."""
