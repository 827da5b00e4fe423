"""What a verdict says at a glance: how sure it is, what to mind first, and one thing to do next."""

from __future__ import annotations

from dataclasses import dataclass

from formulate.answers import Certainty, Result, warnings_of
from formulate.recipes import FROZEN_WATER_KEY
from formulate.report.wording import remedy, sentences

__all__ = ["Seal", "chance_words", "lowering_words", "seal"]

_SCOOPS = {
    Certainty.SURE: "Scoopable",
    Certainty.LIKELY: "Likely scoopable",
    Certainty.TOSS_UP: "May not scoop",
}
_UNREAD = "unread_lot"  # its doubt is in the chance already
_WARNED = "warned"  # sure or likely by the figures, and something else to be read first


@dataclass(frozen=True, slots=True)
class Seal:
    """What stands on a verdict.

    Attributes
    ----------
    kind:
        ``sure``, ``likely``, ``toss_up`` or ``misses`` as :class:`formulate.answers.Certainty` has them,
        or ``warned``: it scoops and holds its targets, and has a warning that comes first.
    words:
        The verdict in two or three words.
    warnings:
        What must be told before anything else, one sentence each.
    next_step:
        What to do next, one sentence.
    """

    kind: str
    words: str
    warnings: tuple[str, ...]
    next_step: str


def seal(result: Result) -> Seal:
    """Return what a verdict says at a glance.

    Parameters
    ----------
    result:
        What checking or balancing says.

    Returns
    -------
    Seal

    Examples
    --------
    >>> import formulate as fm
    >>> found = seal(fm.check(fm.load("damson_sorbet")))
    >>> found.kind, found.words
    ('misses', 'Misses 1 target')
    >>> seal(fm.balance(fm.load("damson_sorbet"))).kind
    'likely'
    """
    found = warnings_of(result)
    warnings, grave = sentences(found), any(each.code != _UNREAD for each in found)
    certainty = result.certainty
    if certainty is Certainty.MISSES:
        return Seal("misses", _missing(result), warnings, _mending(result))
    kind = str(certainty)
    if grave and certainty is not Certainty.TOSS_UP:
        kind = _WARNED
    words = _SCOOPS[certainty] if _unsure(result) is None else "May miss a target"
    return Seal(kind, words, warnings, _next(result, grave, bool(warnings)))


def chance_words(chance: float) -> str:
    """Return a chance as times in 100; never none and never all, for nobody knows that.

    Parameters
    ----------
    chance:
        From 0 to 1.

    Returns
    -------
    str

    Examples
    --------
    >>> chance_words(0.834), chance_words(1.0)
    ('83 times in 100', '99 times in 100')
    """
    return f"{_hundredths(chance)} times in 100"


def lowering_words(present: Result | None, new: Result) -> tuple[str, ...]:
    """Return what must be said before new weights are taken: that they scoop less surely than these.

    Parameters
    ----------
    present:
        The present weights, ``None`` where they are not all known.
    new:
        The weights that are offered.

    Returns
    -------
    tuple of str
        Nothing where they scoop as surely, or more.

    Examples
    --------
    >>> import formulate as fm
    >>> recipe = fm.load("damson_sorbet")
    >>> lowering_words(fm.check(recipe), fm.balance(recipe))[0].split(",")[0]
    'These weights scoop less surely than the present ones'
    """
    if present is None:
        return ()
    before, after = (_hundredths(each.chance.scoopable) for each in (present, new))
    if after >= before:
        return ()
    missed = sum(not target.met for target in present.mix.targets)
    gain = f"; they meet {_targets(missed)} that the present ones miss" if missed else ""
    return (
        f"These weights scoop less surely than the present ones, {after} times in 100 instead of "
        f"{before}{gain}.",
    )


def _hundredths(chance: float) -> int:
    return min(max(round(100.0 * chance), 1), 99)


def _targets(count: int) -> str:
    return "1 target" if count == 1 else f"{count} targets"


def _missing(result: Result) -> str:
    if result.mix.verdict != "scoopable":
        return result.mix.verdict.capitalize()
    return f"Misses {_targets(sum(not target.met for target in result.mix.targets))}"


def _mending(result: Result) -> str:
    """What to do about a mix that is too hard, too soft, or not what is asked."""
    best = result.mix.serving_temperature_c
    if result.mix.verdict == "scoopable":
        return "Balance the weights, or widen what you ask."
    if best is None:
        return "Balance the weights: it does not scoop at any usual temperature."
    words = f"{best:.0f}".replace("-", "−")
    return f"Balance the weights, or serve it at about {words} °C, where it scoops."


def _unsure(result: Result) -> tuple[str, float] | None:
    """In a toss-up, the target that is least sure and its chance, if that is not the scoop itself."""
    names = {each.key: each.name for each in result.mix.targets if each.min != each.max}
    known = [each for each in result.chance.targets if each.key in names]
    if result.certainty is not Certainty.TOSS_UP or not known:
        return None
    least = min(known, key=lambda each: each.value)
    return None if least.key == FROZEN_WATER_KEY else (names[least.key], least.value)


def _next(result: Result, grave: bool, warned: bool) -> str:
    if grave:
        return "Settle what stands above before you weigh anything."
    if warned:
        return "Take the reading: it makes both the weights and the verdict surer."
    if not result.mix.targets:
        return "Only firmness is judged: ask for sweetness or total solids too."
    if result.certainty is Certainty.SURE:
        return "Weigh it out; churn a little first if it is new to you."
    helps = next((words for cause in result.outlook.causes if (words := remedy(cause.what))), "")
    more = f" What makes it surer: {helps}." if helps else ""
    if result.certainty is Certainty.LIKELY:
        return f"Churn a little first, and taste it as it is served.{more}"
    if unsure := _unsure(result):
        name, chance = unsure
        return f"{name} is least sure, {chance_words(chance)}: widen it, or ask for more certainty."
    return f"Do not count on it: churn a little first, or ask for more certainty.{more}"
