"""Take-off from the house, cutting plan and order."""
