"""A half-made pot: what to add to put it right, and what happened if it reads or weighs otherwise."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from desk.entries.editor import editor
from desk.entries.frames import names_of
from desk.entries.numbers import cells, number, number_column, number_entry
from desk.hand import state
from desk.pictures.plain import draw, heading, paragraphs
from formulate.answers import Evidence, correct, diagnose, put_right
from formulate.recipes import Recipe
from formulate.report import correction_text, diagnosis_text, repair_text

__all__ = ["pot_view"]


def pot_view(recipe: Recipe) -> None:
    """Ask what is in the pot and what it reads, and say what to do."""
    names = names_of(recipe)
    left, right = st.columns(2, gap="large")
    with left:
        draw(heading("What is in the pot already?"))
        held = editor(
            pd.DataFrame(
                {"name": list(names.values()), "grams": cells([None] * len(names))},
                index=list(names),
            ),
            key=f"pot_{'_'.join(names)[:80]}",
            alt="What is in the pot, in grams",
            columns={
                "name": st.column_config.TextColumn("Ingredient"),
                "grams": number_column("In the pot, g"),
            },
        )
        pot = {key: number(held["grams"].iloc[place]) for place, key in enumerate(names)}
        filled = {key: grams for key, grams in pot.items() if grams}
        if filled:
            lines = correction_text(recipe.name, correct(recipe, filled)).splitlines()[2:]
            draw(paragraphs(lines))
        else:
            draw(
                paragraphs(["Enter what has gone in; what is still to come stays empty."], "under")
            )
    with right:
        draw(heading("What does the whole mix read and weigh?"))
        here = st.container()
        reads = number_entry(here, "Reading of the mix at 20 °C, °Bx", None, key="pot_reads")
        plus_minus = number_entry(here, "how far it may be off, °Bx", 0.2, key="pot_plus_minus")
        again = number_entry(here, "Reading after stirring, °Bx", None, key="pot_reads_again")
        weighs = number_entry(here, "Weight without the pot, g", None, key="pot_weighs")
        given = [each for each in (reads, again) if each is not None]
        if given or weighs is not None:
            thought = filled or None
            found = diagnose(recipe, Evidence(tuple(given), weighs, plus_minus or 0.2), thought)
            lines = diagnosis_text(recipe.name, found).splitlines()[2:]
            draw(paragraphs([line for line in lines if line]))
            if found.explained:
                repair = put_right(recipe, found.stories[0], thought)
                draw(paragraphs(repair_text(repair).splitlines()))
        else:
            draw(
                paragraphs(
                    [
                        "A mix without fat or much protein can be read; what it reads and weighs says "
                        "what may have happened to it."
                    ],
                    "under",
                )
            )
        st.caption(f"Batch as planned: {state.base().batch_g:,.0f} g")
