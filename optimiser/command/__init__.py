"""The command: parsing, calling, printing."""
