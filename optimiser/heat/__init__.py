"""Heat through the wall: steady, by the combined method of ISO 6946."""
