"""Freezing: the ice line, the water that solutes keep liquid, and the curve of any mix."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
