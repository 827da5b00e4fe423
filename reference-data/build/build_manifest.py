"""Write down what every table is, so that `formulate verify` sees what has been altered since.

    python reference-data/build/build_manifest.py [--out FOLDER]

To be run after any change of a table, and after the scripts that build tables.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

DATA = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(DATA.parent))

from formulate.data import table_hashes  # noqa: E402


def main() -> None:
    """Write the manifest of the tables as they are."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=Path, default=DATA, help="folder to write to")
    lines = [f'"{name}" = "{digest}"' for name, digest in table_hashes().items()]
    text = "\n".join(["[sha256]", *lines, ""])
    (parser.parse_args().out / "manifest.toml").write_text(text, encoding="utf-8", newline="")


if __name__ == "__main__":
    main()
