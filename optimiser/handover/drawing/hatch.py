"""Drafting hatches and the style sheet of a section drawing."""

from __future__ import annotations

from .svg import element

# class -> (property, palette role): written as attribute-free CSS, so that a page can restyle a drawing.
_FILLS = {
    "timber": "tint-timber",
    "tie": "tint-tie",
    "fill": "tint-fill",
    "rigid": "tint-rigid",
    "wood-board": "tint-wood-board",
    "mineral-board": "tint-mineral-board",
    "cladding": "tint-cladding",
    "empty": "tint-empty",
    "break": "paper",
}
_STROKES = {
    "outline": ("ink", 1.1),
    "member": ("ink", 0.9),
    "cross": ("ink", 0.55),
    "hatch-line": ("hatch", 0.9),
    "hatch-fine": ("hatch", 0.7),
    "leader": ("muted", 0.6),
    "dim": ("ink", 0.7),
    "tick": ("ink", 1.2),
    "break-line": ("ink", 0.7),
    "air-line": ("accent", 3.0),
    "wind-line": ("ink", 2.2),
    "hidden": ("ink", 0.8),
    "chamber": ("ink", 1.8),
    "frame": ("ink", 1.1),
    "rule": ("ink", 0.5),
}

FONTS = "-apple-system,'Segoe UI','Helvetica Neue',Arial,'Liberation Sans',sans-serif"


def style(colours: dict[str, str], *, plain: bool) -> str:
    """The drawing's own style sheet; `plain` writes colours out for converters without custom properties."""

    def colour(role: str) -> str:
        return colours[role] if plain else f"var(--{role},{colours[role]})"

    rules = [f".wf .f-{name}{{fill:{colour(role)}}}" for name, role in _FILLS.items()]
    rules += [
        f".wf .{name}{{fill:none;stroke:{colour(role)};stroke-width:{width}}}"
        for name, (role, width) in _STROKES.items()
    ]
    rules += [
        f".wf text{{fill:{colour('ink')};font-family:{FONTS};font-size:11px}}",
        f".wf .quiet{{fill:{colour('muted')}}}",
        ".wf .total{font-weight:700;font-size:12.5px}",
        ".wf .heading,.wf .name,.wf .bold{font-weight:700}",
        ".wf .heading{font-size:13px}.wf .name{font-size:15px}",
        ".wf .wind-line{stroke-dasharray:7 4}",
        ".wf .hidden{stroke-dasharray:5 3}",
        ".wf .seen{fill-opacity:.28}",
        ".wf .chamber{stroke-dasharray:12 3 2 3}",
        f".wf .said{{paint-order:stroke;stroke:{colour('tint-fill')};stroke-width:3px}}",
        ".wf .edge{fill:none;stroke:none}",
        ".wf .catch{fill:transparent}",
        f".wf .lit .edge{{stroke:{colour('accent')};stroke-width:2.4}}",
        f".wf .lit text,.wf text.lit{{fill:{colour('accent')};font-weight:700}}",
    ]
    return element("style", "".join(rules))


def patterns(prefix: str) -> str:
    """Hatches as patterns: a wave for soft fill, fine diagonals for rigid insulating board, grain for cladding."""
    wave = element("path", d="M0 13 C2 13 3 2 5.5 2 S9 13 11 13", class_="hatch-line")
    fine = element("path", d="M-1 1 L1 -1 M0 7 L7 0 M6 8 L8 6", class_="hatch-fine")
    grain = element("path", d="M0 2.5 H24 M0 6.5 H9 M13 6.5 H24", class_="hatch-fine")
    return element(
        "defs",
        _pattern(f"{prefix}-fill", 11, 15, wave),
        _pattern(f"{prefix}-rigid", 7, 7, fine),
        _pattern(f"{prefix}-cladding", 24, 8, grain),
    )


def _pattern(key: str, width: int, height: int, *inside: str) -> str:
    return element("pattern", *inside, id=key, width=width, height=height, patternUnits="userSpaceOnUse")


HATCHED = ("fill", "rigid", "cladding")
