"""Commands around the pot: label, heat, cooling, orders."""

from __future__ import annotations

import argparse
import tomllib
from dataclasses import asdict
from typing import Any

from formulate.cli.inputs import file_bytes, print_out, recipe_from, write_whole
from formulate.cli.temperatures import celsius, celsius_with_unit
from formulate.errors import InputError

__all__ = ["add_commands"]

_DONE, _IMPOSSIBLE = 0, 3


def add_commands(commands: Any, finish: Any) -> None:
    """Add the commands to a parser; ``finish`` adds what every command has."""
    command = _command(
        commands, "label", "draft of a label: nutrition, ingredients, allergens, names"
    )
    command.add_argument("recipe", help="recipe file, name of an example, or - for stdin")
    command.add_argument("--rules", default="eu", help="eu or us (default eu)")
    command.add_argument("--portion", type=float, help="grams of a portion")
    command.add_argument(
        "--balanced", action="store_true", help="of the balanced mix, not of the present weights"
    )
    finish(command, _label)
    command = _command(commands, "sheet", "the batch sheet, to print: .html or .pdf")
    command.add_argument("recipe", help="recipe file, name of an example, or - for stdin")
    command.add_argument("-o", "--output", required=True, help="file to write: .html or .pdf")
    command.add_argument("--batch", type=float, help="grams of mix (default: the recipe's batch)")
    command.add_argument("--portions", type=int, help="so many portions instead")
    command.add_argument("--portion", type=float, help="grams of a portion")
    command.add_argument("--large", action="store_true", help="very large type")
    command.add_argument("--us", action="store_true", help="pounds and ounces beside grams")
    finish(command, _sheet)
    command = _command(commands, "pack", "estimate a composition from what a pack says")
    command.add_argument("pack", help="TOML file with figures and ingredients, or - for stdin")
    finish(command, _pack)
    command = _command(
        commands, "heat", "what a time at a temperature comes to against quoted rules"
    )
    command.add_argument(
        "--at", required=True, help="temperature in the core, with its unit: 62.8C or 145F"
    )
    command.add_argument("--seconds", type=float, required=True, help="time held there, s")
    finish(command, _heat)
    command = _command(commands, "cool", "what readings of cooling come to against quoted rules")
    command.add_argument(
        "legs",
        nargs="+",
        metavar="FROM:TO:MINUTES",
        help="like 60:20:90 20:4:180, in °C, or 140F:70F:120",
    )
    finish(command, _cool)
    command = _command(commands, "order", "what to buy for several mixes, less what is in stock")
    command.add_argument("mixes", nargs="+", metavar="RECIPE=GRAMS", help="like damson_sorbet=4000")
    command.add_argument("--churn", type=float, help="grams that one churn takes")
    finish(command, _order)


def _command(commands: Any, name: str, words: str) -> Any:
    return commands.add_parser(name, help=words, description=words.capitalize() + ".")


def _label(options: argparse.Namespace) -> int:
    import numpy as np

    from formulate.answers import balance
    from formulate.labels import label
    from formulate.mix import mixture
    from formulate.report import label_data, label_text

    recipe = recipe_from(options.recipe)
    mix = mixture(recipe)
    weights = mix.start
    if options.balanced or weights is None:
        result = balance(recipe)
        if result.status != "balanced":
            raise InputError(
                recipe.name, "has no mix that meets its targets", "Balance it to see why."
            )
        weights = np.array([weight.grams for weight in result.mix.weights])
    overrun = 0.0 if recipe.serving is None else recipe.serving.overrun_percent
    found = label(mix, weights, options.rules, options.portion, overrun)
    print_out(label_data(found) if options.json else label_text(found))
    return _DONE


def _sheet(options: argparse.Namespace) -> int:
    from formulate.answers import balance
    from formulate.printing import sheet, sheet_html, sheet_pdf
    from formulate.report import mix_text

    where = options.output
    if not where.endswith((".html", ".pdf")):
        raise InputError("-o", f'"{where}" is neither .html nor .pdf', "Name it sheet.html.")
    recipe = recipe_from(options.recipe)
    result = balance(recipe)
    if result.status != "balanced":
        print_out(mix_text(result))
        return _IMPOSSIBLE
    page = sheet(
        recipe,
        result,
        batch_g=options.batch,
        portions=options.portions,
        portion_g=options.portion,
        large=options.large,
        us_weights=options.us,
    )
    data = sheet_pdf(page) if where.endswith(".pdf") else sheet_html(page).encode("utf-8")
    write_whole(where, data, "-o")
    print_out({"written": where} if options.json else f"{where} is written.")
    return _DONE


def _pack(options: argparse.Namespace) -> int:
    from formulate.ingredients import COLUMNS
    from formulate.labels import pack_composition
    from formulate.report import sentences

    data, name = file_bytes(options.pack)
    try:
        tables = tomllib.loads(data.decode("utf-8-sig"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError) as error:
        raise InputError(name, f"is not a TOML file ({error})", "Mend that line.") from None
    found = pack_composition(tables, name)
    own, said = found.own(), sentences(found.notes)
    if options.json:
        bounds = zip(COLUMNS, found.composition, found.low, found.high, strict=True)
        rows = [
            {"component": key, "value": float(value), "low": float(low), "high": float(high)}
            for key, value, low, high in bounds
            if high > 0.0
        ]
        print_out({"basis": found.basis, "composition": own, "bounds": rows, "messages": said})
        return _DONE
    words = ", ".join(f"{key} = {value:g}" for key, value in own.items())
    print_out("\n".join([f"composition = {{ {words} }}", "", *said]))
    return _DONE


def _heat(options: argparse.Namespace) -> int:
    from formulate.report import heat_data, heat_sentences, lethality_sentences
    from formulate.safety import heat_verdicts, lethality

    at_c = celsius_with_unit(options.at, "--at")
    verdicts = heat_verdicts(at_c, options.seconds)
    try:
        advice = lethality_sentences(lethality(at_c, options.seconds))
    except InputError:  # outside what was measured: the rules alone
        advice = []
    if options.json:
        print_out({"rules": heat_data(verdicts), "advice": advice})
    else:
        print_out("\n".join([*heat_sentences(verdicts, at_c), *advice]))
    return _DONE


def _cool(options: argparse.Namespace) -> int:
    from formulate.report import cooling_data, cooling_sentences
    from formulate.safety import CoolingLeg, cooling_verdicts

    legs = []
    for word in options.legs:
        try:
            start, end, minutes = word.split(":")
            taken = float(minutes.replace(",", "."))
        except ValueError:
            problem = f'"{word}" is not FROM:TO:MINUTES'
            raise InputError("cool", problem, "Write 60:20:90, for example.") from None
        legs.append(CoolingLeg(celsius(start, "cool"), celsius(end, "cool"), taken))
    verdicts = cooling_verdicts(legs)
    print_out(
        {"rules": cooling_data(verdicts)}
        if options.json
        else "\n".join(cooling_sentences(verdicts))
    )
    return _DONE


def _order(options: argparse.Namespace) -> int:
    from formulate.data import made_with, versions
    from formulate.planning import churns, order
    from formulate.report import churns_words, order_rows

    mixes = []
    for word in options.mixes:
        where, _, grams = word.rpartition("=")
        try:
            value = float(grams.replace(",", "."))
        except ValueError:
            problem = f'"{word}" is not RECIPE=GRAMS'
            raise InputError("order", problem, "Write damson_sorbet=4000, for example.") from None
        if not where:
            raise InputError("order", f'"{word}" names no recipe', "Write damson_sorbet=4000.")
        mixes.append((recipe_from(where), value))
    lines = order(tuple(mixes))
    plans = []
    if options.churn is not None:
        plans = [(recipe.name, *churns(grams, options.churn)) for recipe, grams in mixes]
    if options.json:
        data: dict[str, Any] = {"order": [asdict(line) for line in lines]}
        data["churns"] = [
            {"name": name, "churns": number, "grams": each} for name, number, each in plans
        ]
        data["versions"] = versions()
        print_out(data)
        return _DONE
    rows = [*order_rows(lines), *[""] * bool(plans)]
    rows += [f"{name}: {churns_words(number, each)}" for name, number, each in plans]
    rows += ["", f"Made with {made_with()}."]
    print_out("\n".join(rows))
    return _DONE
