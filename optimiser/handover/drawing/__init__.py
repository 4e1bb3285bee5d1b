"""A wall drawn: one model of shapes in millimetres, on screen, on a sheet to scale, and as CAD."""
