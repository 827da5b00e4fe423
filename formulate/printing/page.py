"""A page of HTML in one file that prints on A4: nothing fetched, no script, all text escaped."""

from __future__ import annotations

import re
from collections.abc import Sequence
from html import escape

__all__ = ["page", "safe", "typeset"]

_MINUS = re.compile(r"(?<![\w.,)-])-(?=\d)")
_UNIT = re.compile(r"(\d) (°C|°F|g|kg|L|%|min|h|s|oz)\b")

_PAPER = """
@page { size: A4; margin: 8mm 11mm 8mm 12mm; }
html { --ink: #201d1a; --soft: #5d554d; --line: #d6cec4; --edge: #857b70; --plum: #7a2e4d;
  --wash: #f3ece2; font-size: 12pt; -webkit-text-size-adjust: none; }
html.large { font-size: 18pt; }
* { box-sizing: border-box; margin: 0; padding: 0; }
body { color: var(--ink); background: #fff; line-height: 1.22; font-variant-numeric: tabular-nums;
  font-family: "Source Sans 3", "Segoe UI", "Helvetica Neue", Arial, "DejaVu Sans", sans-serif;
  -webkit-print-color-adjust: exact; print-color-adjust: exact; }
footer { border-top: .5pt solid var(--line); padding-top: .5mm; font-size: 7.2pt;
  color: var(--soft); overflow-wrap: anywhere; }
.page > tbody > tr > td, .page > tfoot > tr > td { border: 0; height: auto; }
@media screen {
  body { background: var(--wash); padding: 6mm; }
  main { background: #fff; max-width: 210mm; margin: 0 auto; padding: 10mm 11mm 9mm 12mm;
    box-shadow: 0 1mm 5mm rgb(60 40 30 / 18%); }
}
"""


def page(
    title: str,
    body: str,
    foot: Sequence[str],
    *,
    style: str,
    marks: str = "",
    variables: str = "",
) -> str:
    """Return a page whose foot stands on every sheet of paper.

    Parameters
    ----------
    title, foot:
        Text, not yet escaped.
    body, style:
        HTML, and what styles it.
    marks, variables:
        Classes and sizes of the whole page.
    """
    return f"""<!doctype html>
<html lang="en-GB" class="{marks}" style="{variables}">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<meta name="viewport" content="width=device-width">
<title>{safe(title)}</title>
<style>{_PAPER}{style}</style>
</head>
<body><main><table class="page" role="presentation"><tfoot><tr><td>
<footer>{safe(" · ".join(foot))}</footer>
</td></tr></tfoot><tbody><tr><td>
{body}
</td></tr></tbody></table></main></body>
</html>
"""


def typeset(text: str) -> str:
    """Return a text with true minus signs, and units that stay with their numbers."""
    return _UNIT.sub("\\1\u00a0\\2", _MINUS.sub("−", text))


def safe(text: str) -> str:
    """Return a text for HTML: escaped, with true minus signs."""
    return escape(typeset(text))
