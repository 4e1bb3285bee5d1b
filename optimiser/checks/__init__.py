"""What a wall is checked for besides heat: its demand, what a search reads, verdict, words, what mends it."""
