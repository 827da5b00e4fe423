"""``python -m formulate`` is the command ``formulate``."""

import sys

from formulate.cli import main

sys.exit(main())
