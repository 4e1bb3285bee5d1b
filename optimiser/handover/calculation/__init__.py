"""The calculation sheet: what it says as records, printed by typst or as a page."""
