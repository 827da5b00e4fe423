"""The English catalogue: one entry a code, see :mod:`formulate.report.wording`."""

from collections.abc import Mapping
from types import MappingProxyType

from formulate.report.english.cold import COLD
from formulate.report.english.kitchen import KITCHEN
from formulate.report.english.labels import LABELS
from formulate.report.english.mixes import MIXES
from formulate.report.english.pots import POTS
from formulate.report.english.safety import SAFETY
from formulate.report.phrases import Template

__all__ = ["SENTENCES"]

#: Words by code; a code with ``_basis`` behind it says what the sentence rests on,
#: with ``_remedy`` what helps.
SENTENCES: Mapping[str, Template] = MappingProxyType(
    {**COLD, **KITCHEN, **LABELS, **MIXES, **POTS, **SAFETY}
)
