"""What a second opinion on a study asks: its rows and its account held to the brief, and walls that it may miss."""
