"""Containers by the words and millimetres that a cook would give."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from formulate.errors import InputError, nearest
from formulate.timing.conduction import Shape
from formulate.timing.cooling import WALLS, Container

__all__ = ["SHAPES", "vessel"]

_SMALLEST_MM, _LARGEST_MM = 5.0, 1000.0

#: Dimensions of each shape, in order, and what makes it.
SHAPES: Mapping[str, tuple[tuple[str, ...], Callable[..., Shape]]] = MappingProxyType(
    {
        "round": (("diameter", "height"), Shape.cylinder),
        "block": (("length", "width", "height"), Shape.block),
        "ball": (("diameter",), Shape.sphere),
    }
)


def vessel(shape: str, size_mm: str, wall: str = "none") -> Container:
    """Return a container: ``round`` 120x80, ``block`` 200x100x50 or ``ball`` 60, inner size in mm.

    Parameters
    ----------
    shape:
        One of :data:`SHAPES`.
    size_mm:
        Its inner dimensions, 5 to 1000 mm each, with an x between.
    wall:
        One of :data:`WALLS`.

    Returns
    -------
    Container

    Raises
    ------
    InputError
        If the shape or wall is unknown, or the size has not as many numbers as the shape, each from 5 to
        1000 mm.

    Examples
    --------
    >>> vessel("round", "120x80", "plastic").wall
    'plastic'
    """
    if shape not in SHAPES:
        hint = nearest(shape, SHAPES) or f"Shapes: {', '.join(SHAPES)}."
        raise InputError("shape", f'"{shape}" is not a shape that is known here', hint)
    if wall not in WALLS:
        hint = nearest(wall, WALLS) or f"Walls: {', '.join(WALLS)}."
        raise InputError("wall", f'"{wall}" is not a wall that is known here', hint)
    names, make = SHAPES[shape]
    parts = size_mm.lower().replace(",", ".").split("x")
    try:
        numbers = [float(part) for part in parts]
    except ValueError:
        numbers = []
    if len(numbers) != len(names) or not all(
        _SMALLEST_MM <= each <= _LARGEST_MM for each in numbers
    ):
        raise InputError(
            "size",
            f'"{size_mm}" must be {" x ".join(names)} in mm, each {_SMALLEST_MM:g} to {_LARGEST_MM:g}',
            f"Write {'x'.join(['120', '80', '50'][: len(names)])}, for example.",
        )
    return Container(make(*(each / 1000.0 for each in numbers)), wall)
