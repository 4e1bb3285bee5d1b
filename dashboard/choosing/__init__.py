"""Deciding: weights, locks, the shortlist, walls side by side, and what is kept of it."""
