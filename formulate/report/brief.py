"""A result in about ten lines, for whoever asks at a prompt."""

from __future__ import annotations

from formulate.answers import Result
from formulate.report.figures import grams_words
from formulate.report.mixes import asked_words, headline, value_words

__all__ = ["brief_text"]

_WEIGHTS_SHOWN = 5


def brief_text(result: Result) -> str:
    """Return the headline, the largest weights, the targets that are missed, and whether it scoops.

    Parameters
    ----------
    result:
        What balancing or checking says.

    Returns
    -------
    str
        About ten lines; :func:`formulate.report.mix_text` says the rest.

    Examples
    --------
    >>> import formulate as fm
    >>> print(brief_text(fm.balance(fm.load("damson_sorbet"))).splitlines()[-2])
    4 of 4 targets met
    """
    mix = result.mix
    largest = sorted(mix.weights, key=lambda weight: -weight.grams)
    shown, rest = largest[:_WEIGHTS_SHOWN], largest[_WEIGHTS_SHOWN:]
    width = max(len(weight.name) for weight in shown)
    lines = [headline(result)]
    for weight in shown:
        changed = weight.before is not None and abs(weight.grams - weight.before) >= 0.05
        before = f"   was {grams_words(weight.before or 0.0, exact=True)}" if changed else ""
        lines.append(
            f"  {weight.name:{width}}  {grams_words(weight.grams, exact=True):>8} g{before}"
        )
    if rest:
        grams = grams_words(sum(weight.grams for weight in rest), exact=True)
        lines.append(f"  {f'and {len(rest)} more':{width}}  {grams:>8} g")
    missed = [target for target in mix.targets if not target.met]
    lines.append(f"{len(mix.targets) - len(missed)} of {len(mix.targets)} targets met")
    lines += [
        f"  {target.name}: {value_words(target, target.value)}, asked {asked_words(target)}"
        for target in missed[:2]
    ]
    frozen = f"{mix.serving_frozen_water:.0f} % of the water frozen"
    lines.append(f"{mix.verdict.capitalize()} at {mix.serving.temperature_c:g} °C: {frozen}")
    return "\n".join(lines)
