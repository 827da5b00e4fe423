"""Commands around the pot: label, sheet, packs, heat, cooling, orders."""

from __future__ import annotations

import argparse
from dataclasses import asdict
from typing import Any

from formulate.cli.command import DONE, Command, Parser
from formulate.cli.inputs import file_bytes
from formulate.cli.meant import add_meant, add_meant_recipe, mix_meant, print_mix, recipe_asked
from formulate.cli.outputs import STDOUT, add_output, form_of, print_out, write_out
from formulate.cli.temperatures import celsius, celsius_with_unit
from formulate.errors import InputError

__all__ = ["COMMANDS"]


def _label_takes(parser: Parser) -> None:
    add_meant_recipe(parser)
    parser.add_argument("--rules", default="eu", help="eu or us (default eu)")
    parser.add_argument("--portion", type=float, help="grams of a portion")


def _sheet_takes(parser: Parser) -> None:
    add_meant_recipe(parser)
    add_output(parser, "file to write: .html or .pdf; - prints the page", required=True)
    parser.add_argument("--batch", type=float, help="grams of mix (default: the recipe's batch)")
    parser.add_argument("--portions", type=int, help="so many portions instead")
    parser.add_argument("--portion", type=float, help="grams of a portion")
    parser.add_argument("--large", action="store_true", help="very large type")
    parser.add_argument("--us", action="store_true", help="pounds and ounces beside grams")


def _pack_takes(parser: Parser) -> None:
    parser.add_argument("pack", help="TOML file with figures and ingredients, or - for stdin")


def _heat_takes(parser: Parser) -> None:
    parser.add_argument(
        "--at", required=True, help="temperature in the core, with its unit: 62.8C or 145F"
    )
    parser.add_argument("--seconds", type=float, required=True, help="time held there, s")


def _cool_takes(parser: Parser) -> None:
    parser.add_argument(
        "legs",
        nargs="+",
        metavar="FROM:TO:MINUTES",
        help="like 60:20:90 20:4:180, in °C, or 140F:70F:120",
    )


def _order_takes(parser: Parser) -> None:
    parser.add_argument("mixes", nargs="+", metavar="RECIPE=GRAMS", help="like damson_sorbet=4000")
    parser.add_argument("--churn", type=float, help="grams that one churn takes")
    add_meant(parser)


def _label(options: argparse.Namespace) -> int:
    from formulate.face import label
    from formulate.report import first_lines, label_data, label_text, meant_data

    result = mix_meant(options)
    if result.status == "impossible":
        return print_mix(result, options)
    found = label(result, options.rules, options.portion)
    if options.json:
        print_out({**label_data(found), **meant_data(result)})
    else:
        print_out(label_text(found, first_lines(result)))
    return DONE


def _sheet(options: argparse.Namespace) -> int:
    from formulate.face import sheet
    from formulate.printing import sheet_html, sheet_pdf
    from formulate.report import first_lines, meant_data

    where = options.output
    form = form_of(where, (".html", ".pdf"), "-o", "sheet.html")
    result = mix_meant(options)
    if result.status == "impossible":
        return print_mix(result, options)
    page = sheet(
        result,
        batch_g=options.batch,
        portions=options.portions,
        portion_g=options.portion,
        large=options.large,
        us_weights=options.us,
    )
    write_out(where, sheet_pdf(page) if form == ".pdf" else sheet_html(page), "-o", options.force)
    if where == STDOUT:
        return DONE
    if options.json:
        print_out({"written": where, **meant_data(result)})
    else:
        print_out("\n".join([f"{where} is written.", *first_lines(result)]))
    return DONE


def _pack(options: argparse.Namespace) -> int:
    import tomllib  # takes long to import

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
        return DONE
    words = ", ".join(f"{key} = {value:g}" for key, value in own.items())
    print_out("\n".join([f"composition = {{ {words} }}", "", *said]))
    return DONE


def _heat(options: argparse.Namespace) -> int:
    from formulate.face import heated
    from formulate.report import heat_data, heat_sentences, lethality_sentences

    at_c = celsius_with_unit(options.at, "--at")
    verdicts, kills = heated(at_c, options.seconds)
    advice = [] if kills is None else lethality_sentences(kills)
    if options.json:
        print_out({"rules": heat_data(verdicts), "advice": advice})
    else:
        print_out("\n".join([*heat_sentences(verdicts, at_c), *advice]))
    return DONE


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
    return DONE


def _order(options: argparse.Namespace) -> int:
    from formulate.data import made_with, versions
    from formulate.planning import churns, mix_to_order, order
    from formulate.report import churns_words, first_lines, meant_data, order_rows

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
        mixes.append((mix_to_order(recipe_asked(options, where), options.balanced), value))
    for result, _ in mixes:
        if result.status == "impossible":
            return print_mix(result, options)
    lines = order(tuple(mixes))
    plans = []
    if options.churn is not None:
        plans = [(result.name, *churns(grams, options.churn)) for result, grams in mixes]
    if options.json:
        data: dict[str, Any] = {"order": [asdict(line) for line in lines]}
        data["mixes"] = [
            {"name": result.name, "grams": grams, **meant_data(result)} for result, grams in mixes
        ]
        data["churns"] = [
            {"name": name, "churns": number, "grams": each} for name, number, each in plans
        ]
        data["versions"] = versions()
        print_out(data)
        return DONE
    rows = [f"{result.name}: {' '.join(first_lines(result))}" for result, _ in mixes]
    rows += ["", *order_rows(lines), *[""] * bool(plans)]
    rows += [f"{name}: {churns_words(number, each)}" for name, number, each in plans]
    rows += ["", f"Made with {made_with()}."]
    print_out("\n".join(rows))
    return DONE


COMMANDS = (
    Command(
        "label",
        "draft of a label: nutrition, ingredients, allergens, names",
        _label,
        _label_takes,
    ),
    Command("sheet", "the batch sheet, to print: .html or .pdf", _sheet, _sheet_takes),
    Command("pack", "estimate a composition from what a pack says", _pack, _pack_takes),
    Command(
        "heat", "what a time at a temperature comes to against quoted rules", _heat, _heat_takes
    ),
    Command("cool", "what readings of cooling come to against quoted rules", _cool, _cool_takes),
    Command("order", "what to buy for several mixes, less what is in stock", _order, _order_takes),
)
