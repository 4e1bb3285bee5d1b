"""Blown fills: common practice, over arrays."""
