"""Supplier price lists, read cell by cell; `materials.listed.prices` is the front door."""
