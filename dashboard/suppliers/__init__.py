"""What suppliers offer, compared, on the page."""
