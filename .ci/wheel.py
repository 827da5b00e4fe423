"""Look into a wheel: what must be in it is, and what nobody needs who installs it is not.

python .ci/wheel.py dist/formulate_frozen_dessert-0.2.0-py3-none-any.whl
"""

from __future__ import annotations

import sys
from zipfile import ZipFile

NEEDED = (
    "formulate/py.typed formulate/__init__.pyi formulate/LICENSE.txt formulate/CHANGELOG.md "
    "formulate/printing/templates/sheet.html formulate/_ui/app.py formulate/_ui/desk/look.css "
    "formulate/_ui/desk/keypad.js "
    "formulate/_ui/.streamlit/config.toml formulate/_ui/screens/mix.py "
    "formulate/_reference_data/composition.csv formulate/_reference_data/manifest.toml "
    "formulate/_reference_data/freezing/solutes.csv "
    "formulate/_reference_data/evidence/freezing_points.csv "
    "formulate/_reference_data/examples/damson_sorbet.toml "
    "formulate/_reference_data/examples/menus/november_week.toml"
).split()
UNWANTED = ("screenshots/", "_reference_data/build/", "_reference_data/extract/", "__pycache__")
ABOUT = ("License-Expression: MIT", "Classifier: ", "Requires-Python: >=3.11", "License-File: ")


def main(path: str) -> int:
    """Say what is wrong with a wheel; return how many things are."""
    with ZipFile(path) as wheel:
        names = wheel.namelist()
        about = next(name for name in names if name.endswith(".dist-info/METADATA"))
        text = wheel.read(about).decode("utf-8")
        licence = any(name.endswith(".dist-info/licenses/formulate/LICENSE.txt") for name in names)
    wrong = [f"{name} is missing" for name in NEEDED if name not in names]
    wrong += [f"{name} is in it" for name in names for part in UNWANTED if part in name]
    wrong += [f"{line!r} is not said of it" for line in ABOUT if line not in text]
    wrong += [] if licence else ["its licence is missing"]
    print("\n".join([*wrong, f"{path}: {len(names)} files, {len(wrong)} things wrong"]))
    return len(wrong)


if __name__ == "__main__":
    sys.exit(min(main(sys.argv[1]), 1))
