"""A week: the menu, shared churns, the shelf, and what to order."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
