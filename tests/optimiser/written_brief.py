"""A brief file, for the tests of its reader."""

TEXT = """name = "terrace"

[target]
u_value = 0.105

[objectives]
minimise = ["thickness_mm", "cost_per_m2", "carbon_kgco2e_m2"]

[limits]
max_thickness_mm = 620
min_load_bearing_depth_mm = 120

[house]
length_m = 11.4
width_m = 5.2
storeys = 2
openings_m2 = 31.0

[prices]
lists = ["demo:hollin-timber.csv"]

[framing]
height_mm = 2750

[tie]
product = "bb-tie-plate-12"
height_mm = 220
vertical_spacing_mm = 1250

[gap]
min_mm = 0
max_mm = 300
step_mm = 10

[slots.cladding]
lock = "ht-cladding-larch-24"

[slots."ventilated space"]
lock = "ht-batten-50x38"

[slots."outer frame"]
allow = ["softwood-c24", "softwood-c16"]
spacing_mm = [600]

[slots.lining]
lock = "bb-gypsum-fibre-12.5"

[seed]
value = 20
"""
