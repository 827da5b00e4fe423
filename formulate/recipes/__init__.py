"""What is asked: the recipe with its targets, limits, serving and steps of work, and its file."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
