"""Moisture in the wall: humid air, surfaces, the monthly method (ISO 13788), drying reserve and mould.

Everything runs over batches of n walls whose layers lie OUTSIDE TO INSIDE, in SI units; relative humidities are
shares (0.8, not 80). Layers outside a well-ventilated air layer are not passed in.
"""
