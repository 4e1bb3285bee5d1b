"""Supplier price lists, read cell by cell; `materials.prices` is the front door."""
