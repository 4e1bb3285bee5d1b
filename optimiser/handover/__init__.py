"""What leaves the desk with the chosen wall: its section drawing and its worked calculation."""
