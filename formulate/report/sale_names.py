"""Verdicts on names in words and as plain data."""

from __future__ import annotations

from typing import Any

from formulate.labels import NameVerdict, RuleCheck
from formulate.messages import message
from formulate.report.phrases import raised
from formulate.report.wording import sentence, sentences

__all__ = ["check_sentence", "jurisdiction_words", "name_data", "name_sentence"]


def check_sentence(check: RuleCheck) -> str:
    """Return what one rule asks and what the mix has."""
    rule = check.rule
    if check.limit is None or check.low is None or check.high is None:
        return f"{rule.text}."
    quantity = sentence(message(f"quantity_{rule.quantity}"))
    value = f"{quantity} {_span(check.low, check.high)} {rule.unit}"
    comparison = sentence(message(f"comparison_{rule.comparison}"))
    asks = f"must be {comparison} {check.limit:g}"
    if check.limit == 0.0:
        asks = "there must be some" if rule.comparison == "above" else "there must be none"
    found = f"{raised(value)}, and {asks}"
    if check.status == "fails" and check.limit > 0.0:
        way = "too little" if rule.comparison in ("min", "above") else "too much"
        found += f": {check.miss:.3g} {way}"
    memory = " (limit from memory, check it)" if rule.basis != "seen" else ""
    return " ".join([f"{found}{memory}.", *sentences(check.notes)])


def name_sentence(verdict: NameVerdict) -> str:
    """Return a verdict in a line or two.

    Parameters
    ----------
    verdict:
        What published rules say of a name.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> label = fm.label(fm.check(fm.load("damson_sorbet")))
    >>> name_sentence(label.names[0]) != ""
    True
    """
    words = {
        "allows": "meets every figure that could be judged here",
        "refuses": "the composition does not meet the published figures",
        "undecided": "cannot be decided from composition",
    }[verdict.status]
    shown = verdict.with_status("fails") or verdict.with_status("unknown")
    open_ = [check_sentence(check).rstrip(".") for check in verdict.with_status("not judged")]
    memory = any(check.rule.basis != "seen" for check in verdict.checks)
    found = f"{verdict.name}: {words}{' (some limits from memory)' if memory else ''}."
    found = " ".join([found, *(check_sentence(check) for check in shown)])
    if open_ and verdict.status != "refuses":
        found += f" Not judged: {'; '.join(open_)}."
    return found


def jurisdiction_words(key: str) -> str:
    """Return a jurisdiction in words: its place and what its rules are.

    Parameters
    ----------
    key:
        One of :data:`formulate.labels.JURISDICTIONS`.

    Returns
    -------
    str

    Examples
    --------
    >>> jurisdiction_words("eu")
    'European trade code (voluntary)'
    """
    return sentence(message(f"jurisdiction_{key}"))


def name_data(verdict: NameVerdict) -> dict[str, Any]:
    """Return a verdict and each of its rules as plain data."""
    return {
        "jurisdiction": verdict.jurisdiction,
        "name": verdict.name,
        "status": verdict.status,
        "sentence": name_sentence(verdict),
        "rules": [
            {
                "rule": check.rule.rule,
                "status": check.status,
                "low": check.low,
                "high": check.high,
                "comparison": check.rule.comparison,
                "limit": check.limit,
                "unit": check.rule.unit,
                "miss": check.miss,
                "sentence": check_sentence(check),
                "basis": check.rule.basis,
                "source": check.rule.source,
            }
            for check in verdict.checks
        ],
    }


def _span(low: float, high: float) -> str:
    return f"{low:.3g}" if high - low < 5e-4 * max(abs(high), 1.0) else f"{low:.3g} to {high:.3g}"
