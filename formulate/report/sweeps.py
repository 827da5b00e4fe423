"""A sweep, or mixes drawn at random, in words and as plain data."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import numpy as np

from formulate.data import versions
from formulate.sweeps import ESS_PER_CHAIN, R_HAT_BELOW, DrawnMixes, Sweep, Tally, grams_column

__all__ = [
    "drawn_about",
    "drawn_columns",
    "drawn_data",
    "drawn_text",
    "progress_text",
    "sweep_data",
    "sweep_text",
]

_QUANTILES = (0.05, 0.5, 0.95)


def sweep_data(sweep: Sweep, tally: Tally, where: str) -> dict[str, Any]:
    """Return what a sweep came to as plain data.

    Parameters
    ----------
    sweep:
        What was varied.
    tally:
        What it came to.
    where:
        Where it is written to.

    Returns
    -------
    dict
        Ready for JSON.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.sweeps import axis_of, explore, sweep_of
    >>> sweep = sweep_of(fm.load("damson_sorbet"), (axis_of("damson.brix=11:12:0.5"),))
    >>> with TemporaryDirectory() as folder:
    ...     sweep_data(sweep, explore(sweep, Path(folder, "a.csv")), "a.csv")["balanced"]
    3
    """
    return {
        "name": sweep.recipe.name,
        "written": where,
        "vary": [axis.words for axis in sweep.axes],
        "leave_out": list(sweep.left_out),
        **asdict(tally),
        "messages": _sweep_messages(tally),
        "versions": dict(sweep.made_with),
    }


def sweep_text(sweep: Sweep, tally: Tally, where: str) -> str:
    """Return what a sweep came to in words.

    Parameters
    ----------
    sweep:
        What was varied.
    tally:
        What it came to.
    where:
        Where it is written to.

    Returns
    -------
    str

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.sweeps import axis_of, explore, sweep_of
    >>> sweep = sweep_of(fm.load("damson_sorbet"), (axis_of("damson.brix=11:12:0.5"),))
    >>> with TemporaryDirectory() as folder:
    ...     sweep_text(sweep, explore(sweep, Path(folder, "a.csv")), "a.csv").splitlines()[0]
    'Damson sorbet, fruit at 11 °Bx: damson.brix=11:12:0.5'
    """
    varied = [axis.words for axis in sweep.axes]
    varied += [f"with and without {key}" for key in sweep.left_out]
    lines = [f"{sweep.recipe.name}: {', '.join(varied)}", ""]
    lines.append(
        f"{tally.rows:,} points: {tally.balanced:,} balanced, {tally.impossible:,} that no mix can do"
        + (f", {tally.refused:,} refused." if tally.refused else ".")
    )
    return "\n".join([*lines, *_sweep_messages(tally), f"{where} is written."])


def _sweep_messages(tally: Tally) -> list[str]:
    said = ["Weights are exact, not rounded to a scale."] if tally.balanced else []
    if tally.refused:
        said.append(
            "Refused: a reading that cannot be, a min above its max, or a herb without its liquid."
        )
    return said


def drawn_about(name: str, recipe: str, found: DrawnMixes, seed: int) -> dict[str, Any]:
    """Return what a file of drawn mixes says of itself.

    Parameters
    ----------
    name:
        Of the recipe.
    recipe:
        Its file.
    found:
        The mixes.
    seed:
        Where random numbers began.

    Returns
    -------
    dict
        Ready for JSON.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.sweeps import draw_mixes
    >>> recipe = fm.load("damson_sorbet")
    >>> drawn_about("Damson", fm.to_toml(recipe), draw_mixes(recipe, 10, 1), 1)["seed"]
    1
    """
    return {
        "name": name,
        "recipe": recipe,
        "mixes": len(found.weights),
        "seed": seed,
        "steps_between_draws": found.steps,
        "mixed": found.mixed,
        "agreement": [asdict(each) for each in found.agreement],
        "versions": {**versions(), "numpy": np.__version__},
    }


def drawn_columns(found: DrawnMixes) -> dict[str, Any]:
    """Return drawn mixes as columns of a table.

    Parameters
    ----------
    found:
        The mixes.

    Returns
    -------
    dict
        Values by column.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.sweeps import draw_mixes
    >>> list(drawn_columns(draw_mixes(fm.load("damson_sorbet"), 10, 1)))[:2]
    ['mix', 'chain']
    """
    grams = zip(found.keys, found.weights.T, strict=True)
    return {
        "mix": np.arange(len(found.weights)),
        "chain": found.chains,
        **{grams_column(key): column for key, column in grams},
        **found.values,
    }


def drawn_data(name: str, found: DrawnMixes, where: str) -> dict[str, Any]:
    """Return drawn mixes as plain data: the span of each weight and value, and how well chains agree.

    Parameters
    ----------
    name:
        Of the recipe.
    found:
        The mixes.
    where:
        Where they are written to.

    Returns
    -------
    dict
        Ready for JSON.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.sweeps import draw_mixes
    >>> drawn_data("Damson", draw_mixes(fm.load("damson_sorbet"), 10, 1), "mixes.csv")["name"]
    'Damson'
    """
    spans = [
        {"key": key, "name": label, **_span(column)}
        for key, label, column in zip(found.keys, found.names, found.weights.T, strict=True)
    ]
    values = [
        {"key": key, **_span(column)}
        for key, column in found.values.items()
        if not np.isnan(column).any()
    ]
    return {
        "name": name,
        "written": where,
        "mixes": len(found.weights),
        "dimensions": found.dimensions,
        "weights": spans,
        "values": values,
        "mixed": found.mixed,
        "agreement": [asdict(each) for each in found.agreement],
        "messages": _drawn_messages(found),
        "versions": {**versions(), "numpy": np.__version__},
    }


def drawn_text(name: str, found: DrawnMixes, where: str) -> str:
    """Return drawn mixes in words: where nine in ten of them lie.

    Parameters
    ----------
    name:
        Of the recipe.
    found:
        The mixes.
    where:
        Where they are written to.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.sweeps import draw_mixes
    >>> found = draw_mixes(fm.load("damson_sorbet"), 10, 1)
    >>> drawn_text("Damson", found, "mixes.csv").splitlines()[0]
    'Damson: 10 of all mixes that meet the targets'
    """
    width = max(len(label) for label in found.names)
    lines = [f"{name}: {len(found.weights):,} of all mixes that meet the targets", ""]
    lines.append(f"{'g':>{width + 2}} {'5 %':>9} {'middle':>9} {'95 %':>9}")
    for label, column in zip(found.names, found.weights.T, strict=True):
        low, middle, high = np.quantile(column, _QUANTILES)
        lines.append(f"{label:{width}}   {low:9,.1f} {middle:9,.1f} {high:9,.1f}")
    return "\n".join([*lines, "", *_drawn_messages(found), f"{where} is written."])


def _drawn_messages(found: DrawnMixes) -> list[str]:
    if found.dimensions == 0:
        return ["The targets leave a single mix."]
    worst = max(each.r_hat for each in found.agreement)
    least = min(min(each.bulk_ess, each.tail_ess) for each in found.agreement)
    figures = (
        f"split R-hat at most {worst:.3f} (asked: below {R_HAT_BELOW:g}), as good as {least:,.0f} "
        f"independent draws at least (asked: {ESS_PER_CHAIN} per chain)"
    )
    even = "Drawn evenly over weights in grams; a mix that is drawn is possible, not recommended."
    if found.mixed:
        return [even, f"The chains agree: {figures}."]
    return [
        even,
        f"THE CHAINS HAVE NOT MIXED: {figures}. The mixes are possible, but their frequencies are not "
        "to be trusted. Widen a target that leaves little room, or take --mixes larger.",
    ]


def progress_text(done: int, total: int, rate: float) -> str:
    """Return how far a sweep has come; ``rate`` in rows per second.

    Parameters
    ----------
    done, total:
        Rows.
    rate:
        Rows per second.

    Returns
    -------
    str

    Examples
    --------
    >>> progress_text(500, 1000, 250.0)
    '500 of 1,000 rows, 250 rows/s, 2 s left'
    """
    left = (total - done) / rate if rate > 0.0 else 0.0
    words = f"{left:,.0f} s" if left < 120.0 else f"{left / 60.0:,.0f} min"
    return f"{done:,} of {total:,} rows, {rate:,.0f} rows/s, {words} left"


def _span(column: Any) -> dict[str, float]:
    low, middle, high = (float(each) for each in np.quantile(column, _QUANTILES))
    return {"low": low, "middle": middle, "high": high, "mean": float(column.mean())}
