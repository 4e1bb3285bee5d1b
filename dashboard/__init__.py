"""Where people look: the explorer of a front. Imports optimiser and materials; nothing imports it."""
