"""The colours of drawings, light and dark: each role has one home here, and screens read it too."""

from __future__ import annotations

LIGHT = {
    "paper": "#FBFAF7",
    "ink": "#1F2421",
    "muted": "#6B6F6A",
    "hairline": "#E2DED3",
    "accent": "#0F6B74",
    "hatch": "#A79A78",
    "tint-timber": "#E3C08F",
    "tint-tie": "#B98247",
    "tint-fill": "#F6F1E0",
    "tint-rigid": "#EFE1C4",
    "tint-wood-board": "#EAD9B8",
    "tint-mineral-board": "#DFE5E5",
    "tint-cladding": "#DCC6A4",
    "tint-empty": "#FFFFFF",
}

DARK = {
    "paper": "#171A19",
    "ink": "#E9E7E0",
    "muted": "#A3A69F",
    "hairline": "#343936",
    "accent": "#6CC3CB",
    "hatch": "#877C5F",
    "tint-timber": "#7A5B33",
    "tint-tie": "#B98247",
    "tint-fill": "#2E2C22",
    "tint-rigid": "#42392A",
    "tint-wood-board": "#4B412D",
    "tint-mineral-board": "#3A4344",
    "tint-cladding": "#5A4A33",
    "tint-empty": "#101312",
}


def custom_properties(colours: dict[str, str]) -> str:
    """The palette as CSS custom properties, without the braces around them."""
    return ";".join(f"--{name}:{value}" for name, value in colours.items())
