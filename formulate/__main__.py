"""``python -m formulate`` is the command ``formulate``."""

from formulate.cli import entry

entry()
