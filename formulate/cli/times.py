"""Commands about time in the cold: how long hardening and tempering take."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from formulate.cli.command import DONE, Command, Parser
from formulate.cli.meant import add_meant_recipe, mix_meant, print_mix
from formulate.cli.outputs import print_out
from formulate.cli.temperatures import celsius

if TYPE_CHECKING:
    from formulate.answers import Result
    from formulate.timing import Timing

__all__ = ["COMMANDS"]

_FRIDGE_C = 4.0  # as it enters the churn; common practice, no source


def _container(parser: Parser) -> None:
    """Add how a container is described, and what is asked of it."""
    add_meant_recipe(parser)
    parser.add_argument("--shape", default="round", help="round, block or ball (default round)")
    parser.add_argument(
        "--size", default="120x80", help="inner size in mm: diameter x height (default 120x80)"
    )
    parser.add_argument("--wall", default="plastic", help="none, steel, plastic, silicone or card")
    parser.add_argument("--from", dest="start", help="temperature at the start: -5C or 23F")
    parser.add_argument(
        "--to", help="temperature to reach, with its unit (default: the recipe's serving one)"
    )
    parser.add_argument("--minutes", type=float, help="a time to judge: is it enough?")


def _harden_takes(parser: Parser) -> None:
    _container(parser)
    parser.add_argument(
        "--freezer", help="temperature of the freezer, with its unit (default: the recipe's)"
    )
    parser.add_argument("--air", default="still", help="still, fan or blast")


def _temper_takes(parser: Parser) -> None:
    _container(parser)
    parser.add_argument("--in", default="fridge", dest="place", help="fridge or bench")
    parser.add_argument("--scoop", type=float, default=60.0, help="weight of a scoop, g")


def _harden(options: argparse.Namespace) -> int:
    from formulate.face import DRAW_C, harden
    from formulate.timing import churn_energy, vessel

    answer = mix_meant(options)
    if answer.status == "impossible":
        return print_mix(answer, options)
    given = _given(options.start, "--from")
    start = DRAW_C if given is None else given
    timing = harden(
        answer,
        vessel(options.shape, options.size, options.wall),
        start_c=start,
        core_c=_given(options.to, "--to"),
        freezer_c=_given(options.freezer, "--freezer"),
        air=options.air,
        minutes=options.minutes,
    )
    energy = None
    if start < _FRIDGE_C:
        energy = (start, churn_energy(answer.mix.composition, _FRIDGE_C, start))
    return _print_times(answer, {"harden": (timing, "Hardening")}, options, energy)


def _temper(options: argparse.Namespace) -> int:
    from formulate.face import scoop_holds, temper
    from formulate.timing import vessel

    answer = mix_meant(options)
    if answer.status == "impossible":
        return print_mix(answer, options)
    served = _given(options.to, "--to")
    timing = temper(
        answer,
        vessel(options.shape, options.size, options.wall),
        storage_c=_given(options.start, "--from"),
        serving_c=served,
        place=options.place,
        minutes=options.minutes,
    )
    scoop = scoop_holds(answer, options.scoop, served)
    return _print_times(
        answer,
        {
            "temper": (timing, f"Tempering ({options.place})"),
            "scoop": (
                scoop,
                f"A scoop of {options.scoop:g} g in the room: melting a tenth of its ice,",
            ),
        },
        options,
    )


def _given(text: str | None, option: str) -> float | None:
    """A temperature of the command line [°C], ``None`` for the usual one."""
    return None if text is None else celsius(text, option)


def _print_times(
    answer: Result,
    timings: dict[str, tuple[Timing, str]],
    options: argparse.Namespace,
    churn: tuple[float, float] | None = None,
) -> int:
    from formulate.report import (
        TIME_CAUTIONS,
        first_lines,
        meant_data,
        timing_data,
        timing_sentences,
    )

    if options.json:
        data: dict[str, Any] = {name: timing_data(timing) for name, (timing, _) in timings.items()}
        energy = {} if churn is None else {"churn_kj_per_kg": churn[1]}
        told = {"name": answer.name, **meant_data(answer), **energy, **data}
        print_out({**told, "cautions": list(TIME_CAUTIONS)})
        return DONE
    print_out("\n".join([answer.name, *first_lines(answer), ""]))
    if churn is not None:
        start, energy_kj = churn
        print_out(
            f"Churning from {_FRIDGE_C:g} to {start:g} °C takes {energy_kj:.0f} kJ out of each kg."
        )
    for name, (timing, doing) in timings.items():
        asked = options.minutes if name != "scoop" else None
        print_out("\n".join(timing_sentences(timing, doing, asked)))
    print_out("\n" + "\n".join(TIME_CAUTIONS))
    return DONE


COMMANDS = (
    Command(
        "harden", "how long a container takes to harden in the freezer", _harden, _harden_takes
    ),
    Command(
        "temper",
        "how long it takes from the freezer to serving temperature, and a scoop holds",
        _temper,
        _temper_takes,
    ),
)
