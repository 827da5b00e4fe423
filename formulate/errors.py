"""The exceptions of the package.  Each one is a sentence that a cook can act on.

Every message says what is wrong with which value, what is allowed, and what to do next.  That no mix
can meet the targets is not an error: it is a result (see :mod:`formulate.mix.assessment`).
"""

from __future__ import annotations

from collections.abc import Iterable

__all__ = [
    "FormulateError",
    "InputError",
    "SolverFault",
    "TableError",
    "VerificationFault",
    "WorkerFault",
    "nearest",
]

_LONGEST = 600  # letters of a part of an error


class FormulateError(Exception):
    """Base class of every error that the package raises on purpose."""


def _short(words: str) -> str:
    """Words that fit a line or two: what somebody gave may be of any length."""
    return words if len(words) <= _LONGEST else f"{words[: _LONGEST // 2]} … {words[-20:]}"


class InputError(FormulateError):
    """What the cook gave cannot be used.

    Parameters
    ----------
    place:
        Where the value stands, in the words of the file or command: ``ingredient 3 (sucrose), min_g``.
    problem:
        What is wrong and what is allowed, as a clause without a full stop.
    remedy:
        What to do next, as a sentence.
    field, value, allowed:
        The same as data, ``None`` where it is not one field that is wrong: its name, what it holds, and
        what it may hold: a pair of the least and the most, or the words that are known.
    key:
        The ingredient or target that it is of, ``None`` where it is of neither.

    Examples
    --------
    >>> error = InputError("scale, step_g", "is 0", "Give grams.", field="step_g", value=0.0)
    >>> str(error), error.field, error.value, error.allowed
    ('scale, step_g: is 0. Give grams.', 'step_g', 0.0, None)
    >>> str(error.moved("recipe.toml, scale, step_g"))
    'recipe.toml, scale, step_g: is 0. Give grams.'
    """

    def __init__(
        self,
        place: str,
        problem: str,
        remedy: str,
        *,
        field: str | None = None,
        value: object = None,
        allowed: object = None,
        key: str | None = None,
    ) -> None:
        self.place = place
        self.problem = problem
        self.remedy = remedy
        self.field = field
        self.value = value
        self.allowed = allowed
        self.key = key
        super().__init__(f"{_short(place)}: {_short(problem)}. {remedy}")

    def __reduce__(self) -> tuple[type[InputError], tuple[str, str, str], dict[str, object]]:
        """Say how it is made again where a worker process has raised it."""
        data = {"field": self.field, "value": self.value, "allowed": self.allowed, "key": self.key}
        return type(self), (self.place, self.problem, self.remedy), data

    def moved(self, place: str) -> InputError:
        """Return the same error at another place: where a file has what went wrong."""
        return type(self)(
            place,
            self.problem,
            self.remedy,
            field=self.field,
            value=self.value,
            allowed=self.allowed,
            key=self.key,
        )

    def about(self, key: str, field: str | None = None) -> InputError:
        """Return the same error as one of an ingredient or target, where it does not say so itself."""
        return type(self)(
            self.place,
            self.problem,
            self.remedy,
            field=self.field or field,
            value=self.value,
            allowed=self.allowed,
            key=self.key or key,
        )


class TableError(FormulateError):
    """A table in ``reference-data`` is damaged; the message names the file and the cell."""


class SolverFault(FormulateError):
    """The solver stopped without an answer that can be used."""


class VerificationFault(FormulateError):
    """A solved mix, recomputed from its composition, does not do what the solver claimed."""


class WorkerFault(FormulateError):
    """The processes or machines that shared the work are gone; what they finished is kept."""


def nearest(word: str, choices: Iterable[str]) -> str:
    """Return a phrase that proposes the closest of ``choices``, or an empty string."""
    from difflib import get_close_matches  # needed only where something is wrong

    found = get_close_matches(word, list(choices), n=3, cutoff=0.6)
    if not found:
        return ""
    return "Did you mean " + " or ".join(f'"{key}"' for key in found) + "?"
