"""A wall as it is bought: every product that its file names brings its own values, and stands where it can."""

from __future__ import annotations

from dataclasses import dataclass

from materials.catalogue import Catalogue
from materials.errors import InputError, nearest
from materials.models import Material, Product, as_sold

from ..template import SLOT, USE_OF
from .buildup import AIR, BuildUp, Frame, Layer
from .offered import fits_slot
from .pricing import Pricing

SAME_MM = 0.05  # sizes of files and lists are compared to this
VAPOUR = ("vapour_mu", "sd_m", "sd_m_dry", "sd_m_humid")
TOGETHER = (  # values that speak of one thing: stated in part, they are the file's own as a whole
    ("conductivity_w_mk", "conductivity_declared_w_mk", "conversion"),
    ("density_kg_m3", "density_by_depth"),
    VAPOUR,
    ("fossil_kgco2e_kg", "fossil_low_kgco2e_kg", "fossil_high_kgco2e_kg", "biogenic_kgco2e_kg", "declaration"),
)
VALUES = ("design_conductivity", "density_kg_m3", "fossil_kgco2e_kg", "biogenic_kgco2e_kg", "waste_fraction", *VAPOUR)


def as_bought(wall: BuildUp, pricing: Pricing, catalogue: Catalogue) -> BuildUp:
    """The wall with the materials of its products as sold, as a search writes them; what the file states stands.

    InputError names layer, product and what was expected where a product is another material, is not made for that
    place or comes in another size. A wall that is so already comes back as it is.
    """
    shelf = _Shelf(wall, pricing, catalogue)
    layers = tuple(_layer(shelf, number, layer) for number, layer in enumerate(wall.layers, 1))
    if layers == wall.layers:
        return wall
    named = {each.material for layer in layers for each in (layer, layer.frame, layer.tie) if each is not None}
    library = {key: material for key, material in shelf.materials.items() if key in named}
    return wall.model_copy(update={"layers": layers, "materials": library})


@dataclass
class _Shelf:
    """The wall's materials, products' own among them as they are found."""

    wall: BuildUp
    pricing: Pricing
    catalogue: Catalogue

    def __post_init__(self) -> None:
        self.materials = dict(self.wall.materials)

    def put(self, key: str, products: tuple[Product, ...], place: str) -> str:
        """The key of a layer's material with the values of its products; InputError where they are of another."""
        material, sold = self.wall.of(key), [self._sold(key, each, place) for each in products]
        for product, other in zip(products[1:], sold[1:], strict=True):
            if any(getattr(other, value) != getattr(sold[0], value) for value in VALUES):
                raise InputError(
                    f'{place}: product "{product.key}" has other values than "{products[0].key}"; expected products of '
                    "one kind in a layer, or a [[layer]] for each"
                )
        if sold[0] == material:
            return key
        name = products[0].key
        shelved = sold[0].model_copy(update={"key": name, "sources": {}})
        if self.materials.setdefault(name, shelved) != shelved:  # the same product in another material of the file's
            name = f"{key}-{name}"
            self.materials[name] = shelved.model_copy(update={"key": name})
        return name

    def _sold(self, key: str, product: Product, place: str) -> Material:
        material = self.wall.of(key)
        own = self.wall.own_tables.get(key, {})
        listed = self.pricing.products.get(key)  # a search calls what a product is sold as by the product's key
        meant = product.material in (key, listed and listed.material)
        if meant and "like" not in own and self.catalogue.materials.get(key) != material:
            return material  # its values stand in the file
        if product.material != key and product.material != own.get("like"):
            expected = f'expected a product of "{key}"' + (f' or "{own["like"]}"' if "like" in own else "")
            raise InputError(
                f'{place}: product "{product.key}" is of material "{product.material}", the layer of "{key}"; '
                f'{expected}, or material = "{product.material}"'
            )
        sold = as_sold(material, product)
        stated = {name for name in own if name in Material.model_fields}
        stated |= {name for group in TOGETHER if stated & set(group) for name in group}
        return sold.model_copy(update={name: getattr(material, name) for name in stated})


def _layer(shelf: _Shelf, number: int, layer: Layer) -> Layer:
    place = f"layer {number} ({layer.role})"
    change: dict[str, object] = {}
    if layer.product is not None:
        change["material"] = _plain(shelf, layer, place)
    for name, part in (("frame", layer.frame), ("tie", layer.tie)):
        if part is not None and part.product is not None:
            key = (_frame if name == "frame" else _tie)(shelf, layer, f"{place}, {name}")
            if key != part.material:
                change[name] = part.model_copy(update={"material": key})
    changed = any(getattr(layer, key) != value for key, value in change.items())
    return layer.model_copy(update=change) if changed else layer


def _plain(shelf: _Shelf, layer: Layer, place: str) -> str:
    if layer.material == AIR:
        raise InputError(f'{place}: product = {layer.product!r}: nothing is bought for a layer of "{AIR}"')
    products = shelf.pricing.named(layer.product, place)
    slot = SLOT.get(layer.role)
    if slot is not None:
        name = slot.filled_from or layer.role
        for each in products:
            _check_use(shelf, name, each, place)
    key = shelf.put(layer.material, products, place)
    if shelf.wall.of(layer.material).kind == "membrane":
        return key  # laid as it comes, whatever the file takes for its thickness
    sizes = [each.thickness_mm for each in products if each.thickness_mm]
    if sizes and abs(sum(sizes) - layer.thickness_mm) > SAME_MM:
        held = " + ".join(f"{each:g}" for each in sizes) + (f" = {sum(sizes):g}" if len(sizes) > 1 else "")
        keys = ", ".join(each.key for each in products)
        raise InputError(
            f'{place}: product "{keys}" is {held} mm thick in a layer of thickness_mm = {layer.thickness_mm:g}; '
            f"expected {layer.thickness_mm:g} mm, or several that add up to it: product = [...]"
        )
    return key


def _frame(shelf: _Shelf, layer: Layer, place: str) -> str:
    frame: Frame = layer.frame
    (product,) = shelf.pricing.named(frame.product, place)
    slot = SLOT.get(layer.role)
    if slot is not None and slot.members:
        _check_use(shelf, layer.role, product, place)
    elif shelf.catalogue.get(product.material).kind != "timber" or product.width_mm is None:
        raise InputError(f'{place}: product "{product.key}" is no timber with a width and a depth; expected such')
    key = shelf.put(frame.material, (product,), place)
    sizes = ((product.thickness_mm, layer.thickness_mm, "depth"), (product.width_mm, frame.width_mm, "width"))
    for held, asked, what in sizes:
        if held and asked is not None and abs(held - asked) > SAME_MM:
            where = "thickness_mm" if what == "depth" else "frame.width_mm"
            raise InputError(
                f'{place}: product "{product.key}" has a {what} of {held:g} mm where {where} = {asked:g}; expected '
                f"{asked:g} mm"
            )
    return key


def _tie(shelf: _Shelf, layer: Layer, place: str) -> str:
    (product,) = shelf.pricing.named(layer.tie.product, place)
    if "tie" not in shelf.catalogue.get(product.material).uses:
        _cannot_stand(shelf, "a tie", "tie", product, place)
    key = shelf.put(layer.tie.material, (product,), place)
    if product.thickness_mm and abs(product.thickness_mm - layer.tie.thickness_mm) > SAME_MM:
        raise InputError(
            f'{place}: product "{product.key}" is {product.thickness_mm:g} mm thick where tie.thickness_mm = '
            f"{layer.tie.thickness_mm:g}; expected {layer.tie.thickness_mm:g} mm"
        )
    return key


def _check_use(shelf: _Shelf, name: str, product: Product, place: str) -> None:
    """InputError where a product's material is not made for a slot or list of fills, or not in that kind and size."""
    material = shelf.catalogue.get(product.material)
    if USE_OF[name] not in material.uses or not fits_slot(name, material, product):
        _cannot_stand(shelf, f'"{USE_OF[name]}"', USE_OF[name], product, place)


def _cannot_stand(shelf: _Shelf, what: str, use: str, product: Product, place: str) -> None:
    material = shelf.catalogue.get(product.material)
    made = f"is made for {', '.join(material.uses)}" if material.uses else "is made for no layer of its own"
    like = [each.key for each in shelf.pricing.products.values() if use in shelf.catalogue.get(each.material).uses]
    raise InputError(
        f'{place}: product "{product.key}" ({material.name}) {made}, and cannot stand here as {what}'
        f"{nearest(product.key, like) or (f'; expected one as {like[0]!r}' if like else '')}"
    )
