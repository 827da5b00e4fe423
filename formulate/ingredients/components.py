"""The vocabulary of composition: what a mix is made of, by mass.

Every ingredient is described by the same components.  They exclude each other and add up to the
whole, so that a mix's composition is the weighted mean of its ingredients' compositions.  Two further
columns are carried along but are not part of the sum: they describe some of the mass a second time.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "ATTRIBUTES",
    "COLUMNS",
    "COMPONENTS",
    "COMPONENT_KEYS",
    "Component",
    "position",
]


@dataclass(frozen=True, slots=True)
class Component:
    """One component: its key in files, its name on a page, and the family it belongs to."""

    key: str
    name: str
    family: str


COMPONENTS: tuple[Component, ...] = (
    Component("water", "Water", "water"),
    Component("milk_fat", "Milk fat", "fat"),
    Component("egg_fat", "Egg fat", "fat"),
    Component("cocoa_fat", "Cocoa fat", "fat"),
    Component("other_fat", "Other fat", "fat"),
    Component("milk_protein", "Milk protein", "protein"),
    Component("egg_protein", "Egg protein", "protein"),
    Component("other_protein", "Other protein", "protein"),
    Component("sucrose", "Sucrose", "sugar"),
    Component("glucose", "Glucose", "sugar"),
    Component("fructose", "Fructose", "sugar"),
    Component("galactose", "Galactose", "sugar"),
    Component("lactose", "Lactose", "sugar"),
    Component("maltose", "Maltose", "sugar"),
    Component("trehalose", "Trehalose", "sugar"),
    Component("glucose_syrup_solids", "Glucose syrup solids", "syrup"),
    Component("sorbitol", "Sorbitol", "polyol"),
    Component("mannitol", "Mannitol", "polyol"),
    Component("xylitol", "Xylitol", "polyol"),
    Component("erythritol", "Erythritol", "polyol"),
    Component("maltitol", "Maltitol", "polyol"),
    Component("isomalt", "Isomalt", "polyol"),
    Component("glycerol", "Glycerol", "polyol"),
    Component("inulin", "Inulin", "fibre"),
    Component("fibre", "Fibre", "fibre"),
    Component("starch", "Starch", "starch"),
    Component("citric_acid", "Citric acid", "acid"),
    Component("malic_acid", "Malic acid", "acid"),
    Component("tartaric_acid", "Tartaric acid", "acid"),
    Component("lactic_acid", "Lactic acid", "acid"),
    Component("acetic_acid", "Acetic acid", "acid"),
    Component("salt", "Salt (sodium chloride)", "mineral"),
    Component("potassium_chloride", "Potassium chloride", "mineral"),
    Component("calcium_chloride", "Calcium chloride", "mineral"),
    Component("plant_potassium", "Potassium of plant origin", "mineral"),
    Component("milk_minerals", "Milk minerals", "mineral"),
    Component("other_minerals", "Other minerals", "mineral"),
    Component("ethanol", "Ethanol", "alcohol"),
    Component("stabiliser", "Stabiliser", "stabiliser"),
    Component("emulsifier", "Emulsifier", "emulsifier"),
    Component("other_solids", "Other solids", "other"),
)

COMPONENT_KEYS: tuple[str, ...] = tuple(component.key for component in COMPONENTS)

#: Columns that describe part of the mass a second time: egg-yolk solids (g per 100 g), and the
#: reducing power of the glucose syrup solids (g glucose of equal reducing power per 100 g, which is
#: syrup solids x dextrose equivalent / 100).
ATTRIBUTES: tuple[str, ...] = ("egg_yolk_solids", "syrup_reducing_power")

#: All columns of a composition row, in order.
COLUMNS: tuple[str, ...] = COMPONENT_KEYS + ATTRIBUTES

_POSITION = {key: index for index, key in enumerate(COLUMNS)}


def position(key: str) -> int:
    """Return the column of a component or attribute; ``KeyError`` if there is none of that name.

    Parameters
    ----------
    key:
        Key of a component or attribute, one of :data:`COLUMNS`.

    Returns
    -------
    int

    Raises
    ------
    KeyError
        If there is none of that name.

    Examples
    --------
    >>> COLUMNS[position("lactose")]
    'lactose'
    """
    return _POSITION[key]
