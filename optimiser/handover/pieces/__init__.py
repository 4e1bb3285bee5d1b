"""Pieces of timber and runs of wall round the house, counted."""
