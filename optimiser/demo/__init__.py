"""The shipped scenario, invented for the demo."""
