"""The values feedplan reasons about: frozen, plain, free of files, clocks and libraries."""
