"""What may be a slip of the pen: it is asked about, and taken where whoever notes it is sure."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date as Date

from formulate.errors import InputError
from formulate.ingredients import Lot

__all__ = ["Doubt", "require_likely_batch", "require_likely_lot"]


class Doubt(InputError):
    """What is noted may be so and is more likely a slip; noted again with ``sure``, it is taken."""


def require_likely_lot(lot: Lot, today: Date) -> None:
    """Raise a :class:`Doubt` if a delivery is of a day to come, or is noted past its use-by."""
    place = f"delivery of {lot.key}"
    if lot.date is not None and lot.date > today:
        raise _doubt(place, f"came in on {lot.date}, which is still to come")
    if lot.use_by is not None and lot.use_by < (lot.date or today):
        raise _doubt(place, f"was past its use-by, {lot.use_by}, when it came in")


def require_likely_batch(made: Date, lots: Mapping[str, Lot], today: Date) -> None:
    """Raise a :class:`Doubt` if a batch is of a day to come, or of lots not yet or no longer to be used.

    Parameters
    ----------
    made, lots, today:
        When it was made, the lots that it was made of by ingredient, and the day on which it is noted.
    """
    if made > today:
        raise _doubt("batch", f"was made on {made}, which is still to come")
    for key, lot in lots.items():
        name = f'"{lot.name}"' if lot.name else "its lot"
        if lot.date is not None and made < lot.date:
            problem = f"{name} came in on {lot.date}, after the batch of {made}"
            raise _doubt(f"batch, {key}", problem)
        if lot.use_by is not None and made > lot.use_by:
            problem = f"{name} was to be used by {lot.use_by}, before the batch of {made}"
            raise _doubt(f"batch, {key}", problem)


def _doubt(place: str, problem: str) -> Doubt:
    return Doubt(place, problem, "Correct the day, or, if it is right, note it again with --yes.")
