"""Heat through the wall: steady (ISO 6946)."""
