"""Thousands of mixes: what varies, blocks of points, and even draws from all that is possible."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
