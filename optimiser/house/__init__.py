"""The house around the wall: its outline, walls by side, floor area."""
