"""The wall type for building models (IFC4)."""
