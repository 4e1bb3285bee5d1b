"""All walls that a brief lets: options, rows of choices, which can be built, how many there are."""
