"""What is asked of a wall, and what it may be bought from."""
