"""Weights before and after, what a mix is made of, how far a value can move: bars beside numbers."""

from __future__ import annotations

from collections.abc import Iterable

from desk.hand.units import mass, mass_change, weight_unit
from desk.pictures.palette import PARTS
from desk.pictures.plain import table, text
from formulate.answers import Span
from formulate.ingredients import COMPONENTS, position
from formulate.mix import Assessment, Weight

__all__ = ["changes_table", "composition_bars", "spans_table"]

_PART_OF_FAMILY = {
    "water": "water",
    "fat": "fat",
    "sugar": "sugars",
    "syrup": "sugars",
    "polyol": "sugars",
    "protein": "protein",
    "fibre": "fibre",
    "starch": "fibre",
}
_NAMES = {
    "water": "Water",
    "sugars": "Sugars and syrups",
    "fat": "Fat",
    "protein": "Protein",
    "fibre": "Fibre and starch",
    "other": "Acids, minerals and others",
}
_WIDE_ENOUGH = 13.0  # % of a bar in which its name can be read
_SEEN = 0.05


def changes_table(weights: tuple[Weight, ...], head: str, *, total: bool = True) -> str:
    """Weights before and after with the change of each as a bar from the middle."""
    unit = weight_unit()
    moved = [weight.grams - (weight.before or 0.0) for weight in weights]
    most = max((abs(each) for each in moved), default=0.0) or 1.0
    had = any(weight.before is not None for weight in weights)
    heads = ["Ingredient", *([f"Now, {unit}"] if had else []), f"{head}, {unit}"]
    heads += ["Change", "~Change as a bar"] if had else []
    rows = []
    for weight, change in zip(weights, moved, strict=True):
        row = [text(weight.name)]
        row += [mass(weight.before or 0.0)] if had else []
        row.append(f"<b>{mass(weight.grams)}</b>")
        if had:
            row += [text(mass_change(change)), _from_middle(change / most)]
        rows.append(row)
    if total:
        last = ["Total"]
        last += [mass(sum(weight.before or 0.0 for weight in weights))] if had else []
        last.append(f"<b>{mass(sum(weight.grams for weight in weights))}</b>")
        rows.append([*last, *(["", ""] if had else [])])
    return table(
        f"Weights, now and {head.lower()}",
        heads,
        rows,
        kind="changes",
        numbers=(1, 2, 3) if had else (1,),
    )


def composition_bars(mixes: dict[str, Assessment]) -> str:
    """What each mix is made of, % by mass, one bar each, and the same as a table."""
    shares = {name: _shares(mix) for name, mix in mixes.items()}
    bars = "".join(f"<span>{text(name)}</span>{_whole(parts)}" for name, parts in shares.items())
    rows = [
        [
            f'<i class="key" style="background:var(--{part})"></i>{_NAMES[part]}',
            *(f"{parts[part]:.1f} %" for parts in shares.values()),
        ]
        for part in PARTS
        if any(parts[part] >= _SEEN for parts in shares.values())
    ]
    names = [name.capitalize() for name in shares]
    numbers = tuple(range(1, len(names) + 1))
    return f'<div class="wholes" aria-hidden="true">{bars}</div>' + table(
        "What the mix is made of, % by mass", ["Part, % by mass", *names], rows, numbers=numbers
    )


def spans_table(caption: str, spans: Iterable[Span]) -> str:
    """Least, best and greatest value of each ingredient or target, with a bar."""
    rows = []
    for span in spans:
        values = [_amount(span, value) for value in (span.low, span.value, span.high)]
        unit = "" if span.unit == "g" else f"<small>{text(span.unit)}</small>"
        rows.append([f"{text(span.name)}{unit}", *values, _reach(span)])
    heads = [caption, "Least", "Best now", "Most", "How far"]
    return table(caption, heads, rows, numbers=(1, 2, 3))


def _shares(mix: Assessment) -> dict[str, float]:
    """% by mass of each part; the components exclude each other and add up to the whole."""
    found = dict.fromkeys(PARTS, 0.0)
    for component in COMPONENTS:
        part = _PART_OF_FAMILY.get(component.family, "other")
        found[part] += float(mix.composition[position(component.key)])
    return found


def _whole(parts: dict[str, float]) -> str:
    cells = []
    for part, share in parts.items():
        if share < _SEEN:
            continue
        words = f"{_NAMES[part].split()[0]} {share:.0f} %" if share >= _WIDE_ENOUGH else ""
        cells.append(f'<div style="flex:{share:.2f};background:var(--{part})">{words}</div>')
    return f'<div class="whole">{"".join(cells)}</div>'


def _from_middle(share: float) -> str:
    width = round(48.0 * abs(share), 1)
    if width < 0.5:
        return '<span class="moved" aria-hidden="true"></span>'
    left = 50.0 if share > 0.0 else 50.0 - width
    return (
        f'<span class="moved" aria-hidden="true"><i style="left:{left}%;width:{width}%"></i></span>'
    )


def _amount(span: Span, value: float) -> str:
    if span.unit == "g":
        return mass(value)
    return f"{value:.2f}" if abs(span.value) < 2.0 else text(f"{value:.1f}")


def _reach(span: Span) -> str:
    low, high = min(span.low, span.value), max(span.high, span.value)
    room = 0.12 * ((high - low) or abs(high) or 1.0)
    left, width = low - room, (high - low) + 2.0 * room
    start, end, best = (
        round(100.0 * (each - left) / width, 2) for each in (span.low, span.high, span.value)
    )
    return (
        f'<div class="span" aria-hidden="true"><div class="reach" style="left:{start}%;'
        f'width:{round(end - start, 2)}%"></div><div class="best" style="left:{best}%"></div></div>'
    )
