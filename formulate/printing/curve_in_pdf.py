"""The freezing curve as a picture of a PDF: its ± shaded, the serving window as a band."""

from __future__ import annotations

from collections.abc import Iterable

from reportlab.graphics.shapes import Circle, Drawing, Line, Polygon, PolyLine, Rect, String

from formulate.printing.page import typeset
from formulate.printing.sheet_contents import Curve

__all__ = ["curve_picture"]

_INK, _SOFT, _LINE, _PLUM, _WINDOW = 0x201D1A, 0x5D554D, 0xD6CEC4, 0x7A2E4D, 0xE6DCCB
_LEFT, _RIGHT, _TOP, _BOTTOM = 22.0, 229.0, 140.0, 30.0  # of 240 by 146
_SIZE = 9.5


def curve_picture(curve: Curve, wide: float) -> Drawing:
    """Return the freezing curve as wide as there is room [pt].

    Parameters
    ----------
    curve:
        Its points, the window and the serving temperature.
    wide:
        Its width [pt].

    Returns
    -------
    reportlab.graphics.shapes.Drawing
        To be put into a page as it is.
    """

    def at(celsius: float, percent: float) -> tuple[float, float]:
        height = min(max(percent, 0.0), 100.0) / 100.0 * (_TOP - _BOTTOM)
        return _LEFT - celsius / 24.0 * (_RIGHT - _LEFT), _BOTTOM + height

    scale = wide / 240.0
    made = Drawing(wide, 146.0 * scale)
    made.scale(scale, scale)
    for percent in (0, 25, 50, 75, 100):
        y = at(0.0, percent)[1]
        made.add(Line(_LEFT, y, _RIGHT, y, strokeColor=_colour(_LINE), strokeWidth=0.5))
        made.add(_words(_LEFT - 4.0, y - 3.1, str(percent), "end"))
    low, high = (at(0.0, percent)[1] for percent in curve.window)
    band = Rect(_LEFT, low, _RIGHT - _LEFT, high - low, strokeColor=None)
    band.fillColor = _colour(_WINDOW)
    made.add(band)
    cold = curve.serving_c < -9.0
    words = (_LEFT + 2.0, "start") if cold else (_RIGHT - 2.0, "end")
    made.add(_words(words[0], (low + high) / 2.0 - 3.1, "serving window", words[1]))
    upper = [at(c, p + s) for c, p, s in curve.points]
    lower = [at(c, p - s) for c, p, s in reversed(curve.points)]
    doubt = Polygon(_flat([*upper, *lower]), strokeColor=None)
    doubt.fillColor, doubt.fillOpacity = _colour(_PLUM), 0.28
    made.add(doubt)
    line = _flat(at(c, p) for c, p, _ in curve.points)
    made.add(PolyLine(line, strokeColor=_colour(_PLUM), strokeWidth=1.6, strokeLineJoin=1))
    if curve.serving_c >= -24.0:
        x, y = at(curve.serving_c, curve.served[1])
        dashed = Line(x, _BOTTOM, x, _TOP, strokeColor=_colour(_INK), strokeWidth=0.8)
        dashed.strokeDashArray = [2.0, 2.5]
        made.add(dashed)
        made.add(Circle(x, y, 2.8, fillColor=_colour(_PLUM), strokeColor=None))
    for celsius in (0, -6, -12, -18, -24):
        made.add(_words(at(celsius, 0.0)[0], 18.0, typeset(str(celsius)), "middle"))
    made.add(
        _words((_LEFT + _RIGHT) / 2.0, 4.0, "frozen water, %, from warm to cold, °C", "middle")
    )
    return made


def _colour(code: int) -> object:
    from reportlab.lib.colors import HexColor

    return HexColor(code)


def _words(x: float, y: float, text: str, anchor: str) -> String:
    return String(
        x, y, text, fontName="Vera", fontSize=_SIZE, fillColor=_colour(_SOFT), textAnchor=anchor
    )


def _flat(points: Iterable[tuple[float, float]]) -> list[float]:
    return [part for point in points for part in point]
