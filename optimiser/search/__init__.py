"""The search for the front, and the study it leaves behind."""
