"""Build-up files as text, layer by layer: small walls that several rooms are held to."""

from __future__ import annotations

STUD, STUDS = "softwood-c24", "width_mm = 45, spacing_mm = 600"


def head(name: str, materials: str = "", outside: str = "vented") -> str:
    return f'name = "{name}"\noutside = "{outside}"\n{materials}'


def layer(role: str, material: str, thickness_mm: float, more: str = "") -> str:
    """A layer; more: lines of its own, as its tie."""
    return f'[[layer]]\nrole = "{role}"\nmaterial = "{material}"\nthickness_mm = {thickness_mm}\n{more}'


def framed(role: str, fill: str, depth_mm: float, members: str = STUDS, stud: str = STUD) -> str:
    """A frame of studs and what fills it; members: the keys of the frame; stud: its material."""
    return layer(role, fill, depth_mm, f'frame = {{ material = "{stud}", {members} }}\n')


def twin(fill: str, tie: str) -> str:
    """Two frames, filled like the gap of 100 mm between them; tie: a line of the gap's own."""
    return framed("outer frame", fill, 145) + layer("gap", fill, 100, tie) + framed("inner frame", fill, 95)
