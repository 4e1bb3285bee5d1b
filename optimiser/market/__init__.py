"""What suppliers offer, compared: fronts without one or with one alone, swaps, break-even, how often a wall stays."""
