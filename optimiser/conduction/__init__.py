"""Conduction through a wall as drawn (ISO 10211): grids, networks that enclose the truth, and what follows of them."""
