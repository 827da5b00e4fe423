"""The page: a recipe, its verdict as it stands, and the balanced mix beside it.  Computes nothing."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd
import streamlit as st
from bench import ingredient_frame, recipe_from, target_frame
from chart import curve_chart

from formulate.answer import Result
from formulate.balance import balance, check
from formulate.composition import ingredient_table
from formulate.cooling import AIR, PLACES, WALLS, harden, scoop_holds, temper
from formulate.errors import FormulateError, InputError
from formulate.evidence import as_data
from formulate.examples import example_bytes, example_names
from formulate.mixture import mixture
from formulate.properties import properties
from formulate.recipe import Range, Recipe, RecipeIngredient, Serving
from formulate.recipe_file import parse, to_toml
from formulate.report import CAUTIONS, mix_sentences
from formulate.report_cold import cold_sentences
from formulate.report_time import TIME_CAUTIONS, timing_sentences
from formulate.result import Judged
from formulate.serving import serving_kinds
from formulate.vessel import SHAPES, vessel

OTHER_TARGETS = {
    "initial_freezing_point_c": "Initial freezing point, °C",
    "cost_per_kg": "Cost, per kg",
}
HEIGHT = 44


def open_recipe(data: bytes, name: str) -> None:
    """Put a recipe on the bench; a fault is kept as a sentence and the old recipe stays."""
    try:
        recipe = parse(data, name)
        mixture(recipe)
    except InputError as error:
        st.session_state.fault = str(error)
        return
    put(recipe)


def put(recipe: Recipe) -> None:
    """Put a recipe on the bench: editors start afresh from it under a new version."""
    st.session_state.fault = ""
    st.session_state.base = recipe
    st.session_state.version = st.session_state.get("version", 0) + 1
    st.session_state.answer = None


def open_example() -> None:
    """Open the example that is chosen."""
    name = st.session_state.example
    if name:
        open_recipe(example_bytes(name), name)


def open_upload() -> None:
    """Open the file that was dropped; nothing in it is run."""
    file = st.session_state.upload
    if file is not None:
        open_recipe(file.getvalue(), file.name)


def add_ingredient() -> None:
    """Add the chosen ingredient of the table to the recipe as it stands in the editors."""
    key = st.session_state.added
    recipe: Recipe = st.session_state.current
    if key and all(entry.key != key for entry in recipe.ingredients):
        entries = (*recipe.ingredients, RecipeIngredient(key, grams=0.0))
        put(replace(recipe, ingredients=entries))
    st.session_state.added = None


def keep_balanced() -> None:
    """Make the balanced weights the present ones."""
    recipe: Recipe = st.session_state.current
    result: Result = st.session_state.answer[1]
    grams = {weight.key: weight.grams for weight in result.mix.weights}
    entries = tuple(replace(entry, grams=grams[entry.key]) for entry in recipe.ingredients)
    put(replace(recipe, ingredients=entries))


def edited(base: Recipe) -> Recipe:
    """Draw the editors and return the recipe that they hold."""
    version = st.session_state.version
    batch = st.number_input(
        "Batch, g", 1.0, 1e7, base.batch_g, step=100.0, key=f"batch_{version}", format="%.0f"
    )
    names = dict(zip((entry.key for entry in base.ingredients), mixture(base).names, strict=True))
    st.subheader("Weights")
    number = st.column_config.NumberColumn
    ingredients = st.data_editor(
        ingredient_frame(base, names),
        key=f"weights_{version}",
        hide_index=True,
        row_height=HEIGHT,
        height="content",
        width="stretch",
        disabled=["name"],
        placeholder="",
        column_order=["name", "grams", "brix", "min_g", "max_g", "fixed"],
        column_config={
            "name": st.column_config.TextColumn("Ingredient", width=175),
            "grams": number("Now, g", width=85, format="%.1f", min_value=0.0),
            "min_g": number("Min, g", width=80, format="%.0f", min_value=0.0),
            "max_g": number("Max, g", width=80, format="%.0f", min_value=0.0),
            "fixed": st.column_config.CheckboxColumn("Fixed", width=65),
            "brix": number("°Bx", width=65, format="%.1f", min_value=0.1, max_value=85.0),
        },
    )
    st.selectbox(
        "Add an ingredient",
        list(ingredient_table()),
        index=None,
        format_func=lambda key: ingredient_table()[key].name,
        key="added",
        on_change=add_ingredient,
        placeholder="search the table",
    )
    st.subheader("What the mix must be")
    targets = st.data_editor(
        target_frame(base, {key: target_name(key) for key in base.targets}),
        key=f"targets_{version}",
        hide_index=True,
        row_height=HEIGHT,
        height="content",
        width="stretch",
        disabled=["name"],
        placeholder="",
        column_config={
            "name": st.column_config.TextColumn("Target", width="medium"),
            "min": number("At least", format="%.2f"),
            "max": number("At most", format="%.2f"),
        },
    )
    serving = edited_serving(base, version)
    return recipe_from(base, batch, ingredients, targets, serving)


def edited_serving(base: Recipe, version: int) -> Serving:
    """Draw the serving entries and return what they hold."""
    serving = base.serving or Serving()
    st.selectbox(
        "Served as",
        list(serving_kinds()),
        index=list(serving_kinds()).index(serving.kind) if serving.kind else None,
        format_func=lambda kind: kind.replace("_", " ").capitalize(),
        key="kind",
        on_change=choose_kind,
        placeholder="choose to set the usual serving",
    )
    one, two, three = st.columns(3)
    temperature = one.number_input(
        "Serve at, °C", -30.0, -1.0, serving.temperature_c, step=0.5, key=f"serve_{version}"
    )
    low = two.number_input(
        "Frozen, at least %", 0.0, 99.0, serving.frozen_water.min or 0.0, key=f"low_{version}"
    )
    high = three.number_input(
        "Frozen, at most %", 0.0, 99.0, serving.frozen_water.max or 99.0, key=f"high_{version}"
    )
    freezer = one.number_input(
        "Freezer, °C", -30.0, -1.0, serving.freezer_c, step=0.5, key=f"freezer_{version}"
    )
    overrun = two.number_input(
        "Overrun, %", 0.0, 300.0, serving.overrun_percent, step=5.0, key=f"overrun_{version}"
    )
    if low > high:
        raise InputError(
            "frozen water", f"at least {low:g} % is above at most {high:g} %", "Exchange them."
        )
    return replace(
        serving,
        temperature_c=temperature,
        frozen_water=Range(low, high),
        freezer_c=freezer,
        overrun_percent=overrun,
    )


def choose_kind() -> None:
    """Take the usual serving of the chosen kind."""
    kind = st.session_state.kind
    recipe: Recipe = st.session_state.current
    if kind:
        usual = serving_kinds()[kind]
        kept = recipe.serving or Serving()
        put(
            replace(
                recipe,
                serving=replace(
                    usual, freezer_c=kept.freezer_c, overrun_percent=kept.overrun_percent
                ),
            )
        )


def target_name(key: str) -> str:
    """Name of a target with its unit."""
    if key in OTHER_TARGETS:
        return OTHER_TARGETS[key]
    about = properties()[key]
    return f"{about.name}, {about.unit}"


def show_answer(now: Result | None, answer: Result | None) -> None:
    """Show the verdict, the weights, the targets and the curve of the present and the balanced mix."""
    mixes: dict[str, Result] = {}
    if now is not None:
        mixes["now"] = now
    if answer is not None and answer.status == "balanced":
        mixes["balanced"] = answer
    shown = answer or now
    if shown is None:
        st.info("Give weights, or press Balance to find them.")
        return
    cold = cold_sentences(shown)
    met = shown.status in ("balanced", "meets")
    (st.success if met else st.warning)("\n\n".join([cold[0], *mix_sentences(shown)]))
    for risk in shown.outlook.risks:
        st.info(f"Watch: {risk.text}")
    if answer is not None:
        heading = "Balanced" if answer.status == "balanced" else "Nearest, misses a target"
        st.dataframe(weights_frame(answer, heading), hide_index=True, width="stretch")
    st.dataframe(targets_frame(mixes or {"nearest": shown}), hide_index=True, width="stretch")
    if mixes:
        st.altair_chart(curve_chart(mixes), width="stretch")
        for place, (name, result) in zip(st.columns(len(mixes)), mixes.items(), strict=True):
            reached = result.mix.serving_temperature_c
            spread = result.outlook.serving_temperature_deviation or 0.0
            words = "below -30 °C" if reached is None else f"{reached:.1f} ± {spread:.1f} °C"
            place.metric(f"Scoops best at, {name}", words)

    with st.expander("In the cold", expanded=True):
        for sentence in cold[1:]:
            if not sentence.startswith("Watch: "):
                st.markdown(f"- {sentence}")
    show_times(shown.mix)


def show_times(mix: Judged) -> None:
    """Ask for a container and show how long it hardens and tempers, and how long a scoop holds."""
    with st.expander("Time in the freezer and out of it"):
        one, two, three = st.columns(3)
        shape = one.selectbox("Container", list(SHAPES), key="shape")
        usual = {"round": "120x80", "block": "160x100x60", "ball": "60"}[shape]
        dimensions = " x ".join(SHAPES[shape][0])
        size = two.text_input(f"Inner {dimensions}, mm", usual, key=f"size_{shape}")
        wall = three.selectbox("Wall", list(WALLS), index=2, key="wall")
        air = one.selectbox("Air in the freezer", list(AIR), key="air")
        place = two.selectbox("Temper in", list(PLACES), key="place")
        grams = three.number_input("Scoop, g", 1.0, 1000.0, 60.0, step=5.0, key="scoop")
        if not st.button("How long?", key="times", width="stretch"):
            return
        serving, air_share = mix.serving, mix.serving.overrun_percent
        box = vessel(shape, size, wall)
        served, freezer = serving.temperature_c, serving.freezer_c
        hard = harden(mix.composition, box, air_share, -6.0, served, freezer, air)
        warm = temper(mix.composition, box, air_share, freezer, served, place)
        scoop = scoop_holds(mix.composition, grams, air_share, served)
        for timing, doing in (
            (hard, "Hardening from -6 °C"),
            (warm, f"Tempering on the {place}" if place == "bench" else "Tempering in the fridge"),
            (scoop, "A scoop in the room, melting a tenth of its ice,"),
        ):
            st.markdown("  \n".join(timing_sentences(timing, doing, None)))
        for caution in TIME_CAUTIONS:
            st.caption(caution)


def show_evidence() -> None:
    """Show every published figure beside the prediction, misses included."""
    with st.expander("How we know: published figures and what this model predicts"):
        frame = pd.DataFrame(evidence())
        frame["within"] = frame["within"].map({True: "✓", False: "✗ missed"})
        st.dataframe(
            frame[
                [
                    "check",
                    "subject",
                    "published",
                    "predicted",
                    "difference",
                    "unit",
                    "within",
                    "source",
                    "note",
                ]
            ],
            hide_index=True,
            width="stretch",
            height=420,
        )


@st.cache_data
def evidence() -> list[dict[str, object]]:
    """The evidence table; the same for everybody."""
    return as_data()


def weights_frame(result: Result, heading: str) -> pd.DataFrame:
    """Weights of a result beside the present ones, in g."""
    present = {weight.key: weight.before for weight in result.mix.weights}
    rows = [
        {
            "Ingredient": weight.name,
            "Now, g": "" if present[weight.key] is None else f"{present[weight.key]:,.1f}",
            f"{heading}, g": f"{weight.grams:,.1f}",
        }
        for weight in result.mix.weights
    ]
    return pd.DataFrame(rows)


def targets_frame(mixes: dict[str, Result]) -> pd.DataFrame:
    """Every target with its range and what each mix makes of it."""
    first = next(iter(mixes.values())).mix
    rows = []
    for place, target in enumerate(first.targets):
        low = "" if target.min is None else f"{target.min:g}"
        high = "" if target.max is None else f"{target.max:g}"
        row = {
            "Target": f"{target.name}, {target.unit.split(' of ')[0]}",
            "Asked": f"{low} to {high}".strip(),
        }
        for name, result in mixes.items():
            value = result.mix.targets[place]
            row[name.capitalize()] = f"{value.value:.2f} {'✓ met' if value.met else '✗ missed'}"
        rows.append(row)
    return pd.DataFrame(rows)


def show_allergens(recipe: Recipe) -> None:
    """Show the allergens that the table knows of."""
    table = ingredient_table()
    found = {
        name
        for entry in recipe.ingredients
        if entry.composition is None
        for name in table[entry.key].allergens
    }
    own = [entry.key for entry in recipe.ingredients if entry.composition is not None]
    words = ", ".join(sorted(found)) or "none known"
    st.markdown(f"**Allergens by the table:** {words}.")
    if own:
        st.markdown(f"Read the pack of {', '.join(own)}: the table does not know it.")


def bench_of(base: Recipe) -> None:
    """Draw the editors of a recipe and, beside them, what it gives."""
    left, right = st.columns(2, gap="medium")
    try:
        with left:
            st.header(base.name)
            recipe = edited(base)
            st.session_state.current = recipe
            pressed = st.button("Balance", type="primary", key="balance", width="stretch")
        with right:
            if pressed:
                st.session_state.answer = (recipe, balance(recipe))
            kept = st.session_state.answer
            answer = kept[1] if kept is not None and kept[0] == recipe else None
            given = any(entry.grams for entry in recipe.ingredients)
            show_answer(check(recipe) if given else None, answer)
            if answer is not None and answer.status == "balanced":
                st.button("Use these weights", key="keep", on_click=keep_balanced)
            st.download_button(
                "Download this recipe",
                to_toml(recipe),
                file_name="recipe.toml",
                mime="application/toml",
                key="download",
            )
            show_allergens(recipe)
    except FormulateError as error:
        right.error(str(error))


def page() -> None:
    """Draw the page."""
    st.set_page_config(page_title="formulate", page_icon="🍧", layout="wide")
    st.title("Before you churn")
    one, two = st.columns(2)
    one.selectbox(
        "Start from an example",
        example_names(),
        index=None,
        format_func=lambda name: name.replace("_", " ").capitalize(),
        key="example",
        on_change=open_example,
        placeholder="choose one",
    )
    two.file_uploader(
        "or open a recipe file", type="toml", key="upload", on_change=open_upload, max_upload_size=1
    )
    if st.session_state.get("fault"):
        st.error(st.session_state.fault)
    if "base" in st.session_state:
        bench_of(st.session_state.base)
    else:
        st.info("Choose an example or open a recipe file to begin.")
    show_evidence()
    with st.expander("Cautions", expanded=True):
        for caution in CAUTIONS:
            st.markdown(f"- {caution}")


page()
