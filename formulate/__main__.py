"""``python -m formulate`` is the command ``formulate``."""

from formulate.cli import entry

if __name__ == "__main__":
    entry()
