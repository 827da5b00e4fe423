"""A draft label: nutrition, ingredients, allergens, sale names, and packs read the other way."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
