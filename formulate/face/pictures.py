"""Pictures of answers as plain data for Vega-Lite, for the pages and for :mod:`formulate.face.plot`.

Lines differ by dash and name as well as by colour.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from formulate.answers import Frontier, Ladder, Result
    from formulate.mix import TargetValue

__all__ = ["COLOURS", "curve_spec", "frontier_spec", "ladder_spec", "targets_spec"]

Spec = dict[str, Any]

#: Colours on a light ground; text has at least 7:1 against it, marks and lines at least 3:1 (WCAG 2.2).
COLOURS: Mapping[str, str] = MappingProxyType(
    {
        "line": "#ddd2c3",
        "ink": "#23201c",
        "muted": "#574f46",
        "accent": "#7a2e4d",
        "now": "#6b6259",
        "good": "#22603a",
        "bad": "#96311c",
        "window": "#b07a2c",
        "freezer": "#2f5d7c",
    }
)

_STYLES = (("now", [7, 5]), ("accent", [1, 0]), ("freezer", [2, 3]), ("good", [10, 3, 2, 3]))
_TONES = ("accent", "freezer", "window", "good", "now", "bad")
_DASHES = ([1, 0], [7, 4], [2, 3], [10, 3, 2, 3], [5, 2], [12, 4])


def curve_spec(
    mixes: Mapping[str, Result], colours: Mapping[str, str] = COLOURS, unit: str = "°C"
) -> Spec:
    """Return the freezing curves of up to four mixes with their ±, the serving window and the freezer.

    Parameters
    ----------
    mixes:
        Results by the name that stands at their curve; serving and freezer are those of the first.
    colours:
        As :data:`COLOURS` has them.
    unit:
        Of temperatures: ``°C`` or ``°F``.

    Returns
    -------
    dict
        A picture for Vega-Lite.

    Examples
    --------
    >>> import formulate as fm
    >>> spec = curve_spec({"now": fm.check(fm.load("damson_sorbet"))})
    >>> spec["data"]["values"][0]["frozen"]
    0.0
    """
    serving = next(iter(mixes.values())).mix.serving
    low, high = serving.frozen_water.min or 0.0, serving.frozen_water.max or 100.0
    highest = max(mixes, key=lambda name: mixes[name].mix.frozen_water[-1][1])
    rows = []
    for name, result in mixes.items():
        rows += _curve_rows(name, result, 7.0 if name == highest else -7.0, unit)
    warm, cold = _shown(-2.0, unit), _shown(-24.0, unit)
    across = {
        "field": "at",
        "type": "quantitative",
        "title": f"Temperature, {unit}",
        "scale": {"domain": [cold, warm], "reverse": True, "nice": False},
        "axis": {"grid": False, "tickCount": 11, "labelBound": False, "labelFlush": False},
    }
    up = {
        "field": "frozen",
        "type": "quantitative",
        "title": "Frozen water, % of all water",
        "scale": {"domain": [0, 100]},
        "axis": {"values": [0, 20, 40, 60, 80, 100]},
    }
    names = list(mixes)
    styles = _STYLES[1:] if names == ["balanced"] else _STYLES
    styled = list(zip(names, styles, strict=False))
    colour = _named("mix", names, [colours[tone] for _, (tone, _) in styled], None)
    dash = _named("mix", names, [dash for _, (_, dash) in styled], None)
    places = [
        _place(serving.temperature_c, "served", colours["ink"], 10.0, unit),
        _place(serving.freezer_c, "freezer", colours["freezer"], 3.0, unit),
    ]
    if serving.temperature_c == serving.freezer_c:
        places = [_place(serving.freezer_c, "freezer, served", colours["freezer"], 3.0, unit)]
    tips = [
        {"field": "mix", "title": "Mix"},
        {"field": "at", "title": f"Temperature, {unit}", "format": ".0f"},
        {"field": "frozen", "title": "Frozen water, %", "format": ".1f"},
        {"field": "plus_minus", "title": "±", "format": ".1f"},
    ]
    band = {
        "mark": {"type": "area", "opacity": 0.28, "interpolate": "monotone"},
        "encoding": {
            "x": across,
            "y": {"field": "least", "type": "quantitative"},
            "y2": {"field": "most"},
            "color": colour,
        },
    }
    curves = {
        "mark": {"type": "line", "strokeWidth": 3.5, "interpolate": "monotone"},
        "encoding": {"x": across, "y": up, "color": colour, "strokeDash": dash, "tooltip": tips},
    }
    touch = {
        "mark": {"type": "point", "size": 300, "opacity": 0},
        "encoding": {"x": across, "y": up, "tooltip": tips},
    }
    ends = {
        "transform": [{"filter": "datum.last"}],
        "mark": {"type": "text", "align": "right", "fontSize": 15, "fontWeight": 600, "dx": -4},
        "encoding": {
            "x": across,
            "y": {"field": "label_at", "type": "quantitative"},
            "text": {"field": "mix"},
            "color": colour,
        },
    }
    window = _window(low, high, warm, colours)
    return {
        "data": {"values": rows},
        "layer": [window[0], band, *places, curves, touch, ends, window[1]],
        "height": 420,
        "config": _config(colours, plain=True),
    }


def ladder_spec(found: Ladder, colours: Mapping[str, str] = COLOURS) -> Spec:
    """Return the weights that change along a ladder, each with its own dash.

    Parameters
    ----------
    found:
        One balanced mix for each reading.
    colours:
        As :data:`COLOURS` has them.

    Returns
    -------
    dict
        A picture for Vega-Lite.

    Examples
    --------
    >>> import formulate as fm
    >>> spec = ladder_spec(fm.ladder(fm.load("damson_sorbet"), "damson", [10, 12]))
    >>> spec["data"]["values"][0]["brix"]
    10.0
    """
    possible = [rung for rung in found.rungs if rung.grams is not None]
    names, rows = [], []
    for place, name in enumerate(found.names):
        weights = [rung.grams[place] for rung in possible if rung.grams is not None]
        if len(set(weights)) > 1:
            names.append(name)
            rows += [
                {"name": name, "brix": rung.brix, "grams": grams}
                for rung, grams in zip(possible, weights, strict=True)
            ]
    tones = [colours[_TONES[place % 6]] for place in range(len(names))]
    legend = {"orient": "top", "labelFontSize": 14, "columns": 3, "labelLimit": 260}
    return {
        "data": {"values": rows},
        "mark": {"type": "line", "strokeWidth": 3, "point": {"size": 50}},
        "encoding": {
            "x": {
                "field": "brix",
                "type": "quantitative",
                "title": "Reading, °Bx",
                "scale": {"zero": False, "nice": False},
            },
            "y": {"field": "grams", "type": "quantitative", "title": "Weight, g"},
            "color": _named("name", names, tones, legend),
            "strokeDash": _named(
                "name", names, [_DASHES[i % 6] for i in range(len(names))], legend
            ),
            "tooltip": [
                {"field": "name", "title": "Ingredient"},
                {"field": "brix", "title": "Reading, °Bx"},
                {"field": "grams", "title": "Weight, g", "format": ",.0f"},
            ],
        },
        "height": 340,
        "config": _config(colours),
    }


def frontier_spec(
    found: Frontier, titles: Sequence[str] = (), colours: Mapping[str, str] = COLOURS
) -> Spec:
    """Return the best trade-offs between two wishes as a line through its corners.

    Parameters
    ----------
    found:
        The frontier.
    titles:
        What both wishes are measured in; none: the words of the wishes.
    colours:
        As :data:`COLOURS` has them.

    Returns
    -------
    dict
        A picture for Vega-Lite.

    Examples
    --------
    >>> import formulate as fm
    >>> spec = frontier_spec(fm.tradeoff(fm.load("damson_sorbet"), "change", "sweetness"))
    >>> spec["encoding"]["x"]["title"]
    'change'
    """
    first, second = titles or (found.first, found.second)
    rows = [
        {"mix": str(place), "first": corner.first, "second": corner.second}
        for place, corner in enumerate(found.corners, start=1)
    ]
    across = {"type": "quantitative", "scale": {"zero": False, "nice": True}}
    return {
        "data": {"values": rows},
        "encoding": {
            "x": {"field": "first", "title": first, **across},
            "y": {"field": "second", "title": second, **across},
        },
        "layer": [
            {"mark": {"type": "line", "strokeWidth": 3, "color": colours["accent"]}},
            {"mark": {"type": "point", "filled": True, "size": 110, "color": colours["accent"]}},
            {
                "mark": {"type": "text", "dy": -14, "fontSize": 15, "color": colours["ink"]},
                "encoding": {"text": {"field": "mix"}},
            },
        ],
        "height": 300,
        "config": _config(colours),
    }


def targets_spec(targets: Sequence[TargetValue], colours: Mapping[str, str] = COLOURS) -> Spec:
    """Return each target as a strip of its own scale: what is asked, and where the mix lies.

    Parameters
    ----------
    targets:
        What is asked and what the mix gives.
    colours:
        As :data:`COLOURS` has them.

    Returns
    -------
    dict
        A picture for Vega-Lite.

    Examples
    --------
    >>> import formulate as fm
    >>> spec = targets_spec(fm.check(fm.load("damson_sorbet")).mix.targets)
    >>> spec["data"]["values"][0]["target"]
    'Total solids, %'
    """
    rows = [
        {
            "target": f"{target.name}, {target.unit}".rstrip(", "),
            "from": target.value if target.min is None else target.min,
            "to": target.value if target.max is None else target.max,
            "value": target.value,
            "met": "met" if target.met else "missed",
        }
        for target in targets
    ]
    value = {"type": "quantitative", "title": None, "scale": {"zero": False}}
    met = _named("met", ["met", "missed"], [colours["good"], colours["bad"]], {"title": None})
    return {
        "data": {"values": rows},
        "facet": {
            "row": {
                "field": "target",
                "type": "nominal",
                "title": None,
                "sort": [row["target"] for row in rows],
                "header": {"labelAngle": 0, "labelAlign": "left", "labelFontSize": 14},
            }
        },
        "spec": {
            "height": 24,
            "layer": [
                {
                    "mark": {"type": "rule", "strokeWidth": 12, "color": colours["line"]},
                    "encoding": {"x": {"field": "from", **value}, "x2": {"field": "to"}},
                },
                {
                    "mark": {"type": "point", "filled": True, "size": 110},
                    "encoding": {
                        "x": {"field": "value", **value},
                        "color": met,
                        "shape": {"field": "met", "type": "nominal", "legend": {"title": None}},
                    },
                },
            ],
        },
        "resolve": {"scale": {"x": "independent"}},
        "config": _config(colours),
    }


def _curve_rows(name: str, result: Result, above: float, unit: str) -> list[Spec]:
    """The curve from the first ice down; its name stands so far above its end."""
    spreads = result.outlook.frozen_water_deviation
    points = list(zip(result.mix.frozen_water, spreads, strict=True))
    first = result.mix.initial_freezing_point_c
    if first is not None and first < points[0][0][0]:
        colder = [point for point in points if point[0][0] < first]
        points = [((first, 0.0), 0.0), *colder]
    return [
        {
            "mix": name,
            "at": round(_shown(celsius, unit), 2),
            "frozen": round(percent, 2),
            "least": round(max(percent - spread, 0.0), 2),
            "most": round(min(percent + spread, 100.0), 2),
            "plus_minus": round(spread, 2),
            "last": celsius == points[-1][0][0],
            "label_at": round(percent + above, 2),
        }
        for (celsius, percent), spread in points
    ]


def _place(celsius: float, name: str, colour: str, height: float, unit: str) -> Spec:
    """A rule across the picture at a temperature, and what it is."""
    at = _shown(celsius, unit)
    words = f"{name} {at:.0f} {unit}".replace("-", "−")
    x = {"field": "at", "type": "quantitative"}
    text = {"type": "text", "align": "left", "dx": 6, "fontSize": 14, "color": colour}
    return {
        "data": {"values": [{"at": at, "words": words, "low": height}]},
        "layer": [
            {
                "mark": {"type": "rule", "color": colour, "strokeDash": [2, 4], "strokeWidth": 2},
                "encoding": {"x": x},
            },
            {
                "mark": text,
                "encoding": {
                    "x": x,
                    "y": {"field": "low", "type": "quantitative"},
                    "text": {"field": "words"},
                },
            },
        ],
    }


def _window(low: float, high: float, warm: float, colours: Mapping[str, str]) -> tuple[Spec, Spec]:
    """The serving window behind the curves, and its name."""
    middle = {"at": warm, "middle": (low + high) / 2.0, "words": "serving window"}
    text = {"type": "text", "align": "left", "dx": 8, "fontSize": 14, "color": colours["ink"]}
    ground = {
        "data": {"values": [{"low": low, "high": high}]},
        "layer": [
            {
                "mark": {"type": "rect", "color": colours["window"], "opacity": 0.22},
                "encoding": {
                    "y": {"field": "low", "type": "quantitative"},
                    "y2": {"field": "high"},
                },
            },
        ],
    }
    words = {
        "data": {"values": [middle]},
        "mark": text,
        "encoding": {
            "x": {"field": "at", "type": "quantitative"},
            "y": {"field": "middle", "type": "quantitative"},
            "text": {"field": "words"},
        },
    }
    return ground, words


def _named(field: str, names: list[str], values: Sequence[Any], legend: Spec | None) -> Spec:
    """Names told apart by colours or dashes."""
    found: Spec = {"field": field, "type": "nominal", "legend": legend, "sort": names}
    return found | {"title": None, "scale": {"domain": names, "range": list(values)}}


def _config(colours: Mapping[str, str], plain: bool = False) -> Spec:
    """Axes in type that can be read from a step away; ``plain`` without a frame."""
    axis = {"labelFontSize": 14, "titleFontSize": 14, "labelColor": colours["muted"]}
    if not plain:
        return {"axis": axis}
    axis |= {"titleColor": colours["muted"], "titleFontWeight": "normal"}
    return {"axis": axis | {"gridColor": colours["line"]}, "view": {"stroke": None}}


def _shown(celsius: float, unit: str) -> float:
    return celsius if unit == "°C" else 32.0 + 1.8 * celsius
