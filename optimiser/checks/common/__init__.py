"""What every check is made of: its record, lines for the eye, what a search reads, changes that could mend."""
