"""The freezing curve as a picture."""

from __future__ import annotations

import altair as alt
import pandas as pd

from formulate.answer import Result

__all__ = ["curve_chart"]


def curve_chart(mixes: dict[str, Result]) -> alt.LayerChart:
    """Return the curves of some mixes with the serving window shaded and the kitchen's temperature.

    Each curve has a band of one standard deviation to either side.

    The lines differ by dash as well as by colour, so that they can be told apart without it.
    """
    serving = next(iter(mixes.values())).mix.serving
    lines = pd.DataFrame(
        [
            {
                "mix": name,
                "temperature": temperature,
                "frozen": percent,
                "least": max(percent - spread, 0.0),
                "most": min(percent + spread, 100.0),
            }
            for name, result in mixes.items()
            for (temperature, percent), spread in zip(
                result.mix.frozen_water, result.outlook.frozen_water_deviation, strict=True
            )
        ]
    )
    window = pd.DataFrame(
        [{"low": serving.frozen_water.min or 0.0, "high": serving.frozen_water.max or 100.0}]
    )
    place = pd.DataFrame([{"temperature": serving.temperature_c}])
    across = alt.X(
        "temperature:Q",
        title="Temperature, °C",
        scale=alt.Scale(domain=[-24, -2]),
        axis=alt.Axis(values=list(range(-24, -1, 2)), labelBound=False, labelFontSize=15),
    )
    up = alt.Y(
        "frozen:Q",
        title="Frozen water, % of all water",
        scale=alt.Scale(domain=[0, 100]),
        axis=alt.Axis(labelFontSize=15),
    )
    colour = alt.Color(
        "mix:N",
        title=None,
        sort=list(mixes),
        scale=alt.Scale(domain=["now", "balanced"], range=["#8a8178", "#a83a66"]),
    )
    band = alt.Chart(window).mark_rect(opacity=0.18, color="#b5803a")
    band = band.encode(y=alt.Y("low:Q", title=""), y2="high:Q")
    rule = alt.Chart(place).mark_rule(strokeDash=[2, 4], size=2, color="#8a8178")
    doubt = (
        alt.Chart(lines)
        .mark_area(opacity=0.25)
        .encode(
            x=across,
            y=alt.Y("least:Q", title=""),
            y2="most:Q",
            color=colour,
        )
    )
    curves = (
        alt.Chart(lines)
        .mark_line(size=3.5)
        .encode(
            x=across,
            y=up,
            color=colour,
            strokeDash=alt.StrokeDash(
                "mix:N",
                title=None,
                scale=alt.Scale(domain=["now", "balanced"], range=[[7, 5], [1, 0]]),
            ),
            tooltip=[
                alt.Tooltip("mix:N", title="Mix"),
                alt.Tooltip("temperature:Q", title="Temperature, °C"),
                alt.Tooltip("frozen:Q", title="Frozen water, %", format=".0f"),
                alt.Tooltip("least:Q", title="less one ±, %", format=".0f"),
                alt.Tooltip("most:Q", title="plus one ±, %", format=".0f"),
            ],
        )
    )
    chart = alt.layer(band, doubt, rule.encode(x="temperature:Q"), curves).properties(height=360)
    return chart.configure_axis(titleFontSize=15).configure_legend(labelFontSize=15, orient="top")
