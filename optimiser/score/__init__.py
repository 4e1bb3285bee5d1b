"""What a wall costs: money, carbon, floor area, weight."""
