"""Pictures of answers as charts of Altair, which shows them in a notebook and saves them as files.

Altair comes with Streamlit and is imported only when one of these is called.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from formulate.face.pictures import curve_spec, frontier_spec, ladder_spec, targets_spec

if TYPE_CHECKING:
    from altair import TopLevelMixin

    from formulate.answers import Frontier, Ladder, Result
    from formulate.face.pictures import Spec

__all__ = ["curve", "frontier", "ladder", "targets"]


def curve(result: Result, **others: Result) -> TopLevelMixin:
    """Return the freezing curve of a result with its ±, serving window, serving and freezer.

    Parameters
    ----------
    result:
        What balancing or checking says.
    others:
        Up to three further results, by the name that stands at their curve.

    Returns
    -------
    Chart
        Of Altair; temperatures in °C, frozen water in % of all water.

    Examples
    --------
    >>> import formulate as fm
    >>> chart = fm.plot.curve(fm.balance(fm.load("damson_sorbet")))
    >>> chart.to_dict()["height"]
    420
    """
    return _chart(curve_spec({str(result.status): result, **others}))


def ladder(found: Ladder) -> TopLevelMixin:
    """Return the weights that change along a ladder [g] over the reading [°Bx].

    Parameters
    ----------
    found:
        One balanced mix for each reading.

    Returns
    -------
    Chart
        Of Altair.

    Examples
    --------
    >>> import formulate as fm
    >>> chart = fm.plot.ladder(fm.ladder(fm.load("damson_sorbet"), "damson", [10, 12]))
    >>> chart.to_dict()["encoding"]["x"]["title"]
    'Reading, °Bx'
    """
    return _chart(ladder_spec(found))


def frontier(found: Frontier) -> TopLevelMixin:
    """Return the best trade-offs between two wishes, each corner with its number.

    Parameters
    ----------
    found:
        The frontier.

    Returns
    -------
    Chart
        Of Altair.

    Examples
    --------
    >>> import formulate as fm
    >>> found = fm.tradeoff(fm.load("damson_sorbet"), "change", "sweetness")
    >>> len(fm.plot.frontier(found).to_dict()["layer"])
    3
    """
    return _chart(frontier_spec(found))


def targets(result: Result) -> TopLevelMixin:
    """Return each target as a strip: what is asked, and where the mix lies.

    Parameters
    ----------
    result:
        What balancing or checking says.

    Returns
    -------
    Chart
        Of Altair; each strip has its own scale.

    Examples
    --------
    >>> import formulate as fm
    >>> chart = fm.plot.targets(fm.balance(fm.load("damson_sorbet")))
    >>> chart.to_dict()["resolve"]["scale"]["x"]
    'independent'
    """
    return _chart(targets_spec(result.mix.targets))


def _chart(spec: Spec) -> TopLevelMixin:
    import altair

    found: TopLevelMixin = altair.Chart.from_dict(spec)
    return found
