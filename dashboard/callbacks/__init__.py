"""Thin wrappers that tie controls to the plain functions beside this package."""
