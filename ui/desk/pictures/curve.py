"""The freezing curve as a picture: both mixes with their ±, the serving window, serving and freezer."""

from __future__ import annotations

from typing import Any

from desk.pictures.palette import palette
from desk.pictures.units import shown_temperature, temperature, temperature_unit

from formulate.answers import Result

__all__ = ["curve_spec", "curve_words"]

Spec = dict[str, Any]

_LINES = {"now": ("now", [7, 5]), "balanced": ("accent", [1, 0])}


def curve_spec(mixes: dict[str, Result]) -> Spec:
    """The picture for Vega-Lite.  Lines differ by dash and name as well as by colour."""
    colours = palette()
    serving = next(iter(mixes.values())).mix.serving
    low, high = serving.frozen_water.min or 0.0, serving.frozen_water.max or 100.0
    highest = max(mixes, key=lambda name: mixes[name].mix.frozen_water[-1][1])
    rows = []
    for name, result in mixes.items():
        rows += _rows(name, result, 7.0 if name == highest else -7.0)
    warm, cold = shown_temperature(-2.0), shown_temperature(-24.0)
    across = {
        "field": "at",
        "type": "quantitative",
        "title": f"Temperature, {temperature_unit()}: warm to the left, cold to the right",
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
    colour = {
        "field": "mix",
        "type": "nominal",
        "legend": None,
        "sort": names,
        "scale": {"domain": names, "range": [colours[_LINES[name][0]] for name in names]},
    }
    dash = {
        "field": "mix",
        "type": "nominal",
        "legend": None,
        "sort": names,
        "scale": {"domain": names, "range": [_LINES[name][1] for name in names]},
    }
    window = {
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
    places = [
        _place(serving.temperature_c, "served", colours["ink"], 10.0),
        _place(serving.freezer_c, "freezer", colours["freezer"], 3.0),
    ]
    if serving.temperature_c == serving.freezer_c:
        places = [_place(serving.freezer_c, "freezer, served", colours["freezer"], 3.0)]
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
        "encoding": {
            "x": across,
            "y": up,
            "color": colour,
            "strokeDash": dash,
            "tooltip": _tooltip(),
        },
    }
    touch = {
        "mark": {"type": "point", "size": 300, "opacity": 0},
        "encoding": {"x": across, "y": up, "tooltip": _tooltip()},
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
    return {
        "data": {"values": rows},
        "layer": [window, band, *places, curves, touch, ends, _window_words(low, high, warm)],
        "height": 420,
        "config": {
            "axis": {
                "labelFontSize": 14,
                "titleFontSize": 14,
                "labelColor": colours["muted"],
                "titleColor": colours["muted"],
                "titleFontWeight": "normal",
                "gridColor": colours["line"],
            },
            "view": {"stroke": None},
        },
    }


def curve_words(mixes: dict[str, Result]) -> str:
    """The picture in words, for those who do not see it."""
    parts = []
    for name, result in mixes.items():
        serving = result.mix.serving
        parts.append(
            f"{name}: {result.mix.serving_frozen_water:.0f} % of the water is frozen at "
            f"{temperature(serving.temperature_c)}, {result.outlook.freezer_frozen_water:.0f} % in "
            f"the freezer at {temperature(serving.freezer_c)}"
        )
    return "Freezing curve. " + "; ".join(parts) + ". The numbers stand in a table below it."


def _rows(name: str, result: Result, above: float) -> list[Spec]:
    """The curve from the first ice down; its name stands so far above its end."""
    found = []
    spreads = result.outlook.frozen_water_deviation
    points = list(zip(result.mix.frozen_water, spreads, strict=True))
    first = result.mix.initial_freezing_point_c
    if first is not None and first < points[0][0][0]:
        colder = [point for point in points if point[0][0] < first]
        points = [((first, 0.0), 0.0), *colder]
    for (celsius, percent), spread in points:
        found.append(
            {
                "mix": name,
                "at": round(shown_temperature(celsius), 2),
                "frozen": round(percent, 2),
                "least": round(max(percent - spread, 0.0), 2),
                "most": round(min(percent + spread, 100.0), 2),
                "plus_minus": round(spread, 2),
                "last": celsius == points[-1][0][0],
                "label_at": round(percent + above, 2),
            }
        )
    return found


def _tooltip() -> list[Spec]:
    return [
        {"field": "mix", "title": "Mix"},
        {"field": "at", "title": f"Temperature, {temperature_unit()}", "format": ".0f"},
        {"field": "frozen", "title": "Frozen water, %", "format": ".1f"},
        {"field": "plus_minus", "title": "±", "format": ".1f"},
    ]


def _place(celsius: float, name: str, colour: str, height: float) -> Spec:
    value = {
        "at": shown_temperature(celsius),
        "words": f"{name} {temperature(celsius, digits=0)}",
        "low": height,
    }
    x = {"field": "at", "type": "quantitative"}
    return {
        "data": {"values": [value]},
        "layer": [
            {
                "mark": {"type": "rule", "color": colour, "strokeDash": [2, 4], "strokeWidth": 2},
                "encoding": {"x": x},
            },
            {
                "mark": {
                    "type": "text",
                    "align": "left",
                    "dx": 6,
                    "fontSize": 14,
                    "color": colour,
                },
                "encoding": {
                    "x": x,
                    "y": {"field": "low", "type": "quantitative"},
                    "text": {"field": "words"},
                },
            },
        ],
    }


def _window_words(low: float, high: float, warm: float) -> Spec:
    return {
        "data": {"values": [{"at": warm, "middle": (low + high) / 2.0, "words": "serving window"}]},
        "mark": {
            "type": "text",
            "align": "left",
            "dx": 8,
            "fontSize": 14,
            "color": palette()["ink"],
        },
        "encoding": {
            "x": {"field": "at", "type": "quantitative"},
            "y": {"field": "middle", "type": "quantitative"},
            "text": {"field": "words"},
        },
    }
