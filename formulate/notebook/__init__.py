"""The notebook: one SQLite file of recipes, lots, batches and verdicts, and what they teach."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
