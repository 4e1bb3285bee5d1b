"""The filling sheet for the installer, and the same sheet read back."""
