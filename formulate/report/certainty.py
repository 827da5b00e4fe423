"""What comes first of a result: which mix it is, how sure it is to scoop, and what to mind."""

from __future__ import annotations

from typing import Any

from formulate.answers import Certainty, Result, Which, scaling, warnings_of
from formulate.report.phrases import enumerated, lowered
from formulate.report.seals import chance_words
from formulate.report.wording import sentences, warning_data

__all__ = [
    "certainty_words",
    "first_lines",
    "meant_data",
    "minded",
    "scoops_words",
    "which_mix",
    "which_words",
]

_CERTAINTY = {
    Certainty.SURE: "Quite sure",
    Certainty.LIKELY: "Likely",
    Certainty.TOSS_UP: "A toss-up",
}


def certainty_words(result: Result) -> str:
    """Return how sure the mix is, in one sentence: whether it scoops, and whether it is what is asked.

    Parameters
    ----------
    result:
        What balancing or checking says.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> certainty_words(fm.balance(fm.load("damson_sorbet"))).split(":")[0]
    'Likely'
    """
    chance, mix = result.chance, result.mix
    served = f"at {mix.serving.temperature_c:g} °C"
    if result.certainty is Certainty.MISSES:
        missed = [lowered(target.name) for target in mix.targets if not target.met]
        words = f"{mix.verdict.capitalize()} {served}"
        if not missed:
            return f"{words}."
        words += ", but" if mix.verdict == "scoopable" else ", and"
        return f"{words} misses {enumerated(missed)}."
    words = f"{_CERTAINTY[result.certainty]}: scoops {served} {chance_words(chance.scoopable)}"
    if any(target.min != target.max for target in mix.targets):
        words += f", and holds every target at once {chance_words(chance.all_targets)}"
    return f"{words}."


def scoops_words(result: Result) -> str:
    """Return at what temperature the recipe as it stands would be right; "" where that is not known.

    Parameters
    ----------
    result:
        What balancing or checking says.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> scoops_words(fm.check(fm.load("damson_sorbet"))).startswith("As it stands it is right at -")
    True
    """
    at_c = result.present_scoops_at_c
    if at_c is None:
        return ""
    stands = result.which is Which.AS_IT_STANDS
    who = "As it stands it is right" if stands else "The recipe as it stands would be right"
    return f"{who} at {at_c:.1f} °C."


def which_mix(result: Result) -> str:
    """Return which mix this is, in a few words.

    Parameters
    ----------
    result:
        What balancing or checking says.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> which_mix(fm.check(fm.load("damson_sorbet")))
    'the mix as it stands'
    """
    if result.which is Which.BALANCED:
        return "the balanced mix"
    return f"the mix as it stands{', scaled to its batch' if scaling(result.mixture) else ''}"


def which_words(result: Result) -> str:
    """Return which mix this is, in one sentence.

    Parameters
    ----------
    result:
        What balancing or checking says.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> which_words(fm.balance(fm.load("damson_sorbet")))
    'Of the balanced mix.'
    """
    why = ""
    if result.which is Which.BALANCED and not result.mixture.recipe.is_weighed:
        why = ", as not every weight is given"
    missed = [lowered(target.name) for target in result.mix.targets if not target.met]
    if missed:
        why += f", which misses {enumerated(missed)}"
    return f"Of {which_mix(result)}{why}."


def minded(result: Result) -> tuple[str, ...]:
    """Return what must be minded before anything else, one sentence each.

    Parameters
    ----------
    result:
        What balancing or checking says.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> import formulate as fm
    >>> minded(fm.balance(fm.load("damson_sorbet")))
    ()
    """
    return tuple(f"Mind: {words}" for words in sentences(warnings_of(result)))


def first_lines(result: Result) -> tuple[str, ...]:
    """Return which mix this is and what to mind: the head of all that is made from a mix.

    Parameters
    ----------
    result:
        What balancing or checking says.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> import formulate as fm
    >>> first_lines(fm.balance(fm.load("damson_sorbet")))
    ('Of the balanced mix.',)
    """
    return (which_words(result), *minded(result))


def meant_data(result: Result) -> dict[str, Any]:
    """Return which mix this is, its weights and its warnings as plain data.

    Parameters
    ----------
    result:
        What balancing or checking says.

    Returns
    -------
    dict

    Examples
    --------
    >>> import formulate as fm
    >>> sorted(meant_data(fm.check(fm.load("damson_sorbet"))))
    ['mix', 'warnings', 'which']
    """
    return {
        "which": result.which,
        "mix": [{"key": weight.key, "grams": weight.grams} for weight in result.mix.weights],
        "warnings": [warning_data(each) for each in warnings_of(result)],
    }
