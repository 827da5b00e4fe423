"""What to mind in a mix, and what it costs."""

from __future__ import annotations

from desk.entries.frames import names_of
from desk.hand.answers import present
from desk.pictures.plain import heading, table, text
from formulate.mix import COST_KEY
from formulate.recipes import Recipe
from formulate.report import basis, sentence
from formulate.safety import cautions_for

__all__ = ["cost_html", "mind_html"]


def mind_html(recipe: Recipe) -> str:
    """Heating, cooling, eggs and what else the ingredients ask for, with what each rests on."""
    result = present(recipe)
    assert result is not None
    used = {weight.key for weight in result.mix.weights if weight.grams > 0.0}
    entries = [entry for entry in recipe.ingredients if entry.key in used]
    items = "".join(
        f"<li>{text(sentence(caution))}"
        + (f" <small>({text(rests_on)})</small>" if (rests_on := basis(caution)) else "")
        + "</li>"
        for caution in cautions_for(entries, result.mix.composition)
    )
    return heading("What to mind") + f'<div class="note watch"><ul>{items}</ul></div>'


def cost_html(recipe: Recipe) -> str:
    """Cost per kg of the mix, where every ingredient has a price; else which have none."""
    result = present(recipe)
    assert result is not None
    names = names_of(recipe)
    cost = result.mix.properties.get(COST_KEY)
    if cost is None:
        missing = [names[entry.key] for entry in recipe.ingredients if entry.price_per_kg is None]
        return heading(
            "What it costs",
            f"Prices are missing for {', '.join(missing)}: give them on the page of what came in.",
        )
    rows = [
        [text(names[entry.key]), f"{entry.price_per_kg:.2f} per kg"] for entry in recipe.ingredients
    ]
    rows.append(["Mix", f"<b>{cost:.2f} per kg</b>"])
    return heading("What it costs", "In your own money.") + table(
        "Prices", ["Ingredient", "Price"], rows, numbers=(1,)
    )
